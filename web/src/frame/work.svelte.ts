/** Questions to the server of which only the newest counts: what one is at, what was wrong, whether it was stopped. */
import { Refusal } from "./api";
import { JobWatch } from "./job.svelte";
import type { AdviceOut, JobOut } from "./shapes";

export class Work {
  /** The long work that is under way. */
  watch = $state.raw<JobWatch | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  /** It was stopped by hand and waits to be started again. */
  stopped = $state(false);
  /** A question is under way, long or short. */
  busy = $state(false);
  #turn = 0;

  /** Asks what takes the server a while; an older question that still runs is ended, and its answer counts no more. */
  async long<Out>(
    begin: () => Promise<JobOut>,
    answer: (job: string) => Promise<Out>,
    take: (out: Out) => void,
  ): Promise<void> {
    await this.#ask(async (turn) => {
      this.trouble = [];
      const watch = new JobWatch(await begin());
      if (turn !== this.#turn) return void (await watch.leave());
      this.watch = watch;
      const end = await watch.end;
      const out = end.state === "done" ? await answer(end.job) : null;
      if (turn !== this.#turn) return;
      if (out !== null) take(out);
      else if (end.state === "failed") this.refused(end.advice);
      else this.stopped = true;
    });
  }

  /** Asks what is answered at once; what was wrong stands until the answer is there. */
  async short<Out>(answer: () => Promise<Out>, take: (out: Out) => void): Promise<void> {
    await this.#ask(async (turn) => {
      const out = await answer();
      if (turn !== this.#turn) return;
      this.trouble = [];
      take(out);
    });
  }

  async #ask(question: (turn: number) => Promise<void>): Promise<void> {
    const turn = ++this.#turn;
    await this.leave();
    if (turn !== this.#turn) return;
    [this.stopped, this.busy] = [false, true];
    try {
      await question(turn);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (turn === this.#turn) this.refused(error.advice);
    } finally {
      if (turn === this.#turn) [this.watch, this.busy] = [null, false];
    }
  }

  /** What happens to the answer before when there is none to this question: it stays. */
  protected refused(advice: readonly AdviceOut[]): void {
    this.trouble = advice;
  }

  /** Stopped by hand. */
  async cancel(): Promise<void> {
    await this.watch?.leave();
  }

  /** Ends work that nobody waits for any more. */
  async leave(): Promise<void> {
    const watch = this.watch;
    this.watch = null;
    await watch?.leave();
  }

  /** The page is left: nobody waits for any answer. */
  close(): void {
    this.#turn++;
    void this.leave();
  }
}
