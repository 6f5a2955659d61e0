/** Who sits at this page: the laptop that serves, or a paired phone. */
import { get, Refusal } from "./api";
import type { MeOut } from "./shapes";

class Who {
  me = $state.raw<MeOut | null>(null);
  readonly name: string = $derived(this.me === null || this.me.laptop ? "laptop" : this.me.device || "phone");
  /** A phone that was not let in yet. */
  readonly stranger: boolean = $derived(this.me !== null && !this.me.laptop && !this.me.paired);

  async ask(): Promise<Refusal | null> {
    try {
      this.me = await get("/api/me", {});
      return null;
    } catch (error) {
      if (error instanceof Refusal) return error;
      throw error;
    }
  }
}

export const who = new Who();
