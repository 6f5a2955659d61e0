/** Letting water in on the server: started anew whenever the boat or the question changes, the old answer kept. */
import { get, post, Refusal } from "../../frame/api";
import { JobWatch } from "../../frame/job.svelte";
import type { AdviceOut, LeakAsk, LeakOut } from "../../frame/shapes";

export class LeakWork {
  found = $state.raw<LeakOut | null>(null);
  watch = $state.raw<JobWatch | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  /** It was stopped by hand and waits to be started again. */
  stopped = $state(false);
  #turn = 0;

  constructor(readonly boat: string) {}

  async look(body: LeakAsk): Promise<void> {
    this.#turn += 1;
    const turn = this.#turn;
    await this.leave();
    [this.trouble, this.stopped] = [[], false];
    try {
      const watch = new JobWatch(await post("/api/boats/{boat}/leak", { path: { boat: this.boat }, body }));
      if (turn !== this.#turn) return void (await watch.leave());
      this.watch = watch;
      const end = await watch.end;
      if (turn !== this.#turn) return;
      this.watch = null;
      if (end.state === "done") {
        this.found = await get("/api/jobs/{job}/leak", { path: { job: end.job } });
      } else if (end.state === "failed") this.trouble = end.advice;
      else this.stopped = true;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (turn === this.#turn) [this.watch, this.trouble] = [null, error.advice];
    }
  }

  /** Ends work that nobody waits for any more. */
  async leave(): Promise<void> {
    const watch = this.watch;
    this.watch = null;
    await watch?.leave();
  }

  async cancel(): Promise<void> {
    await this.watch?.leave();
  }
}
