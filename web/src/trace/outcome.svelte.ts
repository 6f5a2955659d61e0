/** Figures and hull of the trace, worked out anew a moment after each saved step. */

import { get, post, Refusal } from "../frame/api";
import { JobWatch } from "../frame/job.svelte";
import type { AdviceOut, TraceFigures } from "../frame/shapes";

const PAUSE_MS = 500;
const EVERY_MS = 120;
const SLOW_MS = 1000;

export class Outcome {
  figures = $state.raw<TraceFigures | null>(null);
  watch = $state.raw<JobWatch | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  /** It has run for longer than a builder waits without a word. */
  slow = $state(false);
  /** Of the document that the newest figures were asked for. */
  #base = $state("");
  readonly old: boolean = $derived(this.figures !== null && this.figures.base !== this.#base);
  #units = "";
  #timer: ReturnType<typeof setTimeout> | undefined;
  #turn = 0;

  constructor(readonly boat: string) {}

  /** The document on disk is this one now, and figures are read in these units. */
  want(base: string, units: string): void {
    if (base === this.#base && units === this.#units) return;
    [this.#base, this.#units] = [base, units];
    clearTimeout(this.#timer);
    if (base) this.#timer = setTimeout(() => void this.#ask(), this.figures ? PAUSE_MS : 0);
  }

  close(): void {
    clearTimeout(this.#timer);
    this.#turn += 1;
    void this.watch?.leave();
  }

  async cancel(): Promise<void> {
    const watch = this.watch;
    this.#turn += 1;
    this.watch = null;
    await watch?.leave();
  }

  async #ask(): Promise<void> {
    const mine = ++this.#turn;
    void this.watch?.leave();
    try {
      const first = await post("/api/boats/{boat}/trace/figures", { path: { boat: this.boat } });
      const job = new JobWatch(first, EVERY_MS);
      if (mine !== this.#turn) return void job.leave();
      this.watch = job;
      this.slow = false;
      const slow = setTimeout(() => (this.slow = mine === this.#turn), SLOW_MS);
      const end = await job.end;
      clearTimeout(slow);
      if (mine !== this.#turn) return;
      if (end.state === "done") {
        const found = await get("/api/jobs/{job}/trace", { path: { job: end.job } });
        if (mine !== this.#turn) return;
        this.figures = found;
        this.trouble = [];
      } else if (end.state === "failed") this.trouble = end.advice;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (mine === this.#turn) this.trouble = error.advice;
    } finally {
      if (mine === this.#turn) this.watch = null;
    }
  }
}
