/** The trim of one boat: the search that runs, its answer, or the trim that her file holds. Kept while pages change. */
import { get, post, Refusal } from "../frame/api";
import type { BoatStore } from "../frame/boat.svelte";
import { JobWatch } from "../frame/job.svelte";
import { messages } from "../frame/messages.svelte";
import type { AdviceOut, BoatState, TrimAsk, TrimOut } from "../frame/shapes";
import { who } from "../frame/who.svelte";

export class TrimWork {
  /** The search that runs, or ran last. */
  watch = $state.raw<JobWatch | null>(null);
  /** What a search found. */
  found = $state.raw<TrimOut | null>(null);
  /** What the file holds. */
  fitted = $state.raw<TrimOut | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  applying = $state(false);
  #asked = 0;

  constructor(private readonly boat: string) {}

  get running(): boolean {
    return this.watch?.now.state === "running";
  }

  /** The answer on the page: a search that was made stands before what the file holds. */
  get shown(): TrimOut | null {
    return this.found ?? this.fitted;
  }

  async solve(ask: TrimAsk): Promise<void> {
    this.trouble = [];
    this.found = null;
    try {
      const watch = new JobWatch(
        await post("/api/boats/{boat}/trim", { path: { boat: this.boat }, body: ask }),
      );
      this.watch = watch;
      const end = await watch.end;
      if (end.state === "done") this.found = await get("/api/jobs/{job}/trim", { path: { job: end.job } });
      else this.trouble = end.advice;
      if (end.state === "cancelled") messages.say("The search was cancelled; nothing is changed.");
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.trouble = error.advice;
    } finally {
      this.watch = null;
    }
  }

  async cancel(): Promise<void> {
    try {
      await this.watch?.cancel();
    } catch (error) {
      messages.refused("The search was not cancelled", error);
    }
  }

  /** Writes the answer into the boat file: one step. */
  async apply(store: BoatStore): Promise<void> {
    const job = this.found?.job;
    if (!job || !store.state) return;
    this.applying = true;
    try {
      const body = { base: store.state.revision, by: who.name, job };
      store.take(await post("/api/boats/{boat}/trim/apply", { path: { boat: this.boat }, body }));
      await this.look(store.state);
      this.found = null;
      messages.say("The trim is written into the boat file. Undo takes it back.");
    } catch (error) {
      messages.refused("The trim was not written", error);
      if (error instanceof Refusal && error.stale) await store.refresh();
    } finally {
      this.applying = false;
    }
  }

  /** Fetches the trim that the file holds, where it holds one. */
  async look(state: BoatState): Promise<void> {
    const asked = ++this.#asked;
    if (!holdsTrim(state.values) || state.figures_revision === null) {
      this.fitted = null;
      return;
    }
    try {
      const trim = await get("/api/boats/{boat}/trim", { path: { boat: this.boat } });
      if (asked === this.#asked) this.fitted = trim;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (asked === this.#asked && !error.noContact) this.fitted = null;
    }
  }
}

/** Whether an earlier trim was written into the file. */
export function holdsTrim(values: Readonly<Record<string, unknown>>): boolean {
  const parts: unknown = values.part;
  return Array.isArray(parts) && parts.some((part) => isFromTrim(part));
}

function isFromTrim(part: unknown): boolean {
  return typeof part === "object" && part !== null && "from" in part && part.from === "trim";
}

const kept = Object.create(null) as Record<string, TrimWork>;

/** The work on a boat's trim; the same one when the page is opened again. */
export function workOn(boat: string): TrimWork {
  return (kept[boat] ??= new TrimWork(boat));
}
