/** The keyboard's shortcuts, so that one list shows those of the frame and of the page. */
import { untrack } from "svelte";

export interface Shortcut {
  keys: string;
  does: string;
}

class Keys {
  open = $state(false);
  #groups = $state.raw<{ title: string; list: readonly Shortcut[] }[]>([]);

  get groups(): readonly { title: string; list: readonly Shortcut[] }[] {
    return this.#groups;
  }

  /** Adds a page's shortcuts to the list; call what comes back when the page goes (an `$effect` does). */
  add(title: string, list: readonly Shortcut[]): () => void {
    const group = { title, list };
    // An effect adds the group; it must not run again because of what it adds.
    untrack(() => (this.#groups = [...this.#groups, group]));
    return () => {
      this.#groups = this.#groups.filter((one) => one !== group);
    };
  }
}

export const keys = new Keys();

/** The builder is typing, so that keys are text or belong to the field's own undo. */
export function typing(event: KeyboardEvent): boolean {
  const at = event.target;
  if (!(at instanceof HTMLElement)) return false;
  if (at.isContentEditable || at instanceof HTMLTextAreaElement || at instanceof HTMLSelectElement)
    return true;
  return at instanceof HTMLInputElement && !["range", "checkbox", "radio", "button"].includes(at.type);
}

/** Ctrl here, Command on a Mac. */
export function command(event: KeyboardEvent): boolean {
  return (event.ctrlKey || event.metaKey) && !event.altKey;
}
