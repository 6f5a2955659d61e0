/** One question of fit that takes a while: what it is at, its answer, and what was wrong with it. */
import { Refusal } from "../../frame/api";
import { JobWatch } from "../../frame/job.svelte";
import type { AdviceOut, JobOut } from "../../frame/shapes";

export class Work<Out> {
  watch = $state.raw<JobWatch | null>(null);
  out = $state.raw<Out | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  /** The builder ended it. */
  left = $state(false);
  #asked = 0;

  get running(): boolean {
    return this.watch?.now.state === "running";
  }

  /** Asks anew; an older question that still runs is ended, and its answer counts no more. */
  async ask(begin: () => Promise<JobOut>, answer: (job: string) => Promise<Out>): Promise<void> {
    const asked = ++this.#asked;
    await this.watch?.leave();
    this.trouble = [];
    this.left = false;
    try {
      const watch = new JobWatch(await begin());
      if (asked !== this.#asked) {
        await watch.leave();
        return;
      }
      this.watch = watch;
      const end = await watch.end;
      const out = end.state === "done" ? await answer(end.job) : null;
      if (asked !== this.#asked) return;
      if (out !== null) this.out = out;
      else if (end.state === "failed") [this.out, this.trouble] = [null, end.advice];
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (asked === this.#asked) [this.out, this.trouble] = [null, error.advice];
    } finally {
      if (asked === this.#asked) this.watch = null;
    }
  }

  async cancel(): Promise<void> {
    this.left = true;
    await this.watch?.leave();
  }

  /** The page is left: nobody waits for the answer any more. */
  close(): void {
    this.#asked++;
    void this.watch?.leave();
  }
}
