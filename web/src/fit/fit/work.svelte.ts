/** One question of fit that takes a while; its answer goes when there is none to the next. */
import type { AdviceOut, JobOut } from "../../frame/shapes";
import { Work } from "../../frame/work.svelte";

export class FitWork<Out> extends Work {
  out = $state.raw<Out | null>(null);

  async ask(begin: () => Promise<JobOut>, answer: (job: string) => Promise<Out>): Promise<void> {
    await this.long(begin, answer, (out) => (this.out = out));
  }

  protected override refused(advice: readonly AdviceOut[]): void {
    super.refused(advice);
    this.out = null;
  }
}
