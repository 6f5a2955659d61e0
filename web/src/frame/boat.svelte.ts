/** One boat as the pages know her. Every edit carries the revision that it was made on. */
import { bytes, get, post, Refusal } from "./api";
import { LiveChannel } from "./live.svelte";
import { messages } from "./messages.svelte";
import { saveAs } from "./save";
import type { BoatState, Changed, Op } from "./shapes";
import { who } from "./who.svelte";

/** An edit that was not made, kept with what was typed so that it can be tried again. */
export interface Unmade {
  what: string;
  ops: Op[];
  /** Who changed the boat meanwhile; empty when the laptop could not be reached. */
  by: string;
  reason: "changed" | "no contact";
}

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 10_000;

export class BoatStore {
  state = $state.raw<BoatState | null>(null);
  /** The boat cannot be shown at all, and why. */
  refusal = $state.raw<Refusal | null>(null);
  unmade = $state.raw<Unmade | null>(null);
  /** The last change that came from elsewhere. */
  elsewhere = $state.raw<Changed | null>(null);
  contact = $state(true);
  #working = $state(0);
  readonly busy: boolean = $derived(this.#working > 0);
  readonly live: LiveChannel;
  #queue: Promise<unknown> = Promise.resolve();
  #retry: ReturnType<typeof setTimeout> | undefined;
  #wait = FIRST_WAIT_MS;
  #closed = false;

  constructor(readonly boat: string) {
    this.live = new LiveChannel(boat, {
      changed: (notice) => this.#changed(notice),
      hello: (revision) => {
        const away = !this.contact;
        this.contact = true;
        // What a page asked for while nobody answered is asked for again, even though the boat is the same.
        if (away || this.state?.revision !== revision) void this.refresh();
      },
      lost: () => void this.refresh(),
    });
  }

  async open(): Promise<void> {
    await this.refresh();
    this.live.open();
  }

  close(): void {
    this.#closed = true;
    clearTimeout(this.#retry);
    this.live.close();
  }

  /** A copy of the whole boat, into the browser's downloads. */
  async saveZip(): Promise<void> {
    try {
      const zip = await bytes("/api/boats/{boat}/zip", { path: { boat: this.boat } });
      saveAs(`${this.boat}.zip`, "application/zip", zip);
    } catch (error) {
      messages.refused("No copy was saved", error);
    }
  }

  /** Fetches the boat anew; a refusal is shown in place of her. */
  async refresh(): Promise<void> {
    clearTimeout(this.#retry);
    try {
      this.#take(await get("/api/boats/{boat}", { path: { boat: this.boat } }));
      this.refusal = null;
    } catch (error) {
      this.#failed(error);
    }
  }

  /** One step of work, in the builder's words: all of its ops, or none. True when it was made. */
  edit(what: string, ops: Op[]): Promise<boolean> {
    return this.#step(async (base) => {
      try {
        this.#take(
          await post("/api/boats/{boat}/edits", {
            path: { boat: this.boat },
            body: { base, by: who.name, what, ops },
          }),
        );
        this.unmade = null;
        return true;
      } catch (error) {
        if (!(error instanceof Refusal)) throw error;
        if (error.stale) {
          await this.refresh();
          this.unmade = { what, ops, by: this.elsewhere?.by ?? "", reason: "changed" };
        } else if (error.noContact) {
          this.contact = false;
          this.#tryLater();
          this.unmade = { what, ops, by: "", reason: "no contact" };
        } else {
          messages.advise(`${what}: not done`, error.advice);
        }
        return false;
      }
    });
  }

  /** Waits until every step that was begun has come back, so that the state holds it. */
  async settled(): Promise<void> {
    await this.#queue;
  }

  undo(): Promise<boolean> {
    return this.#walk("/api/boats/{boat}/undo", this.state?.undo ?? null, "Taken back");
  }

  redo(): Promise<boolean> {
    return this.#walk("/api/boats/{boat}/redo", this.state?.redo ?? null, "Done again");
  }

  /** Makes the kept edit over what stands there now; the builder has seen both. */
  async tryAgain(): Promise<boolean> {
    const unmade = this.unmade;
    if (!unmade) return false;
    this.unmade = null;
    // Without what the page saw before, the new value counts whatever stands there.
    const ops = unmade.ops.map((op) => {
      if (op.op !== "put") return op;
      return { ...op, was: this.valueAt(op.path) };
    });
    return this.edit(unmade.what, ops);
  }

  leave(): void {
    this.unmade = null;
  }

  /** What stands in the file at a path, as written; null where nothing stands. */
  valueAt(path: readonly (string | number)[]): unknown {
    let value: unknown = this.state?.values ?? null;
    for (const key of path) {
      if (typeof value !== "object" || value === null) return null;
      value = (value as Record<string | number, unknown>)[key];
    }
    return value ?? null;
  }

  /** Takes a state that another call of this page brought back, such as an applied trim. */
  take(state: BoatState): void {
    this.#take(state);
  }

  #walk(path: "/api/boats/{boat}/undo" | "/api/boats/{boat}/redo", what: string | null, said: string) {
    if (what === null) return Promise.resolve(false);
    return this.#step(async (base) => {
      try {
        this.#take(await post(path, { path: { boat: this.boat }, body: { base, by: who.name } }));
        messages.say(`${said}: ${what}`);
        return true;
      } catch (error) {
        if (!(error instanceof Refusal)) throw error;
        if (error.stale) await this.refresh();
        messages.advise(`${said.toLowerCase()}: ${what}`, error.advice);
        return false;
      }
    });
  }

  /** One after the other, so that each starts from the revision that the one before it made. */
  #step(work: (base: number) => Promise<boolean>): Promise<boolean> {
    const turn = this.#queue.then(async () => {
      this.#working += 1;
      try {
        return await work(this.state?.revision ?? 0);
      } finally {
        this.#working -= 1;
      }
    });
    // A fault of one step must not hold up the next; whoever asked for it sees it.
    this.#queue = turn.catch(() => undefined);
    return turn;
  }

  #changed(notice: Changed): void {
    if (this.state && notice.revision <= this.state.revision) return;
    this.elsewhere = notice;
    void this.refresh();
  }

  #take(state: BoatState): void {
    this.contact = true;
    this.#wait = FIRST_WAIT_MS;
    // Answers may overtake one another; the newest text is the one that counts.
    if (!this.state || state.revision >= this.state.revision) this.state = state;
  }

  #failed(error: unknown): void {
    if (!(error instanceof Refusal)) throw error;
    if (error.noContact) {
      this.contact = false;
      this.#tryLater();
    }
    if (!this.state || !error.noContact) this.refusal = error;
  }
  #tryLater(): void {
    clearTimeout(this.#retry);
    if (this.#closed) return;
    this.#retry = setTimeout(() => void this.refresh(), this.#wait);
    this.#wait = Math.min(2 * this.#wait, LONGEST_WAIT_MS);
  }
}
