/** What heels her, asked of the server: at once while fields change, as long work for the least stable moment. */
import { get, post, Refusal } from "../../frame/api";
import { JobWatch } from "../../frame/job.svelte";
import type { AdviceOut, HeelAsk, HeelOut } from "../../frame/shapes";

export class HeelWork {
  found = $state.raw<HeelOut | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  watch = $state.raw<JobWatch | null>(null);
  asking = $state(false);
  #turn = 0;

  constructor(readonly boat: string) {}

  /** Only the newest question is answered; what an older one brings is dropped. */
  async ask(body: HeelAsk, least: boolean): Promise<void> {
    this.#turn += 1;
    const turn = this.#turn;
    await this.leave();
    this.asking = true;
    try {
      const found = least ? await this.#least(body, turn) : await this.#now(body);
      if (turn === this.#turn && found) [this.found, this.trouble] = [found, []];
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (turn === this.#turn) this.trouble = error.advice;
    } finally {
      if (turn === this.#turn) this.asking = false;
    }
  }

  async #now(body: HeelAsk): Promise<HeelOut> {
    return post("/api/boats/{boat}/heel", { path: { boat: this.boat }, body });
  }

  async #least(body: HeelAsk, turn: number): Promise<HeelOut | null> {
    const watch = new JobWatch(
      await post("/api/boats/{boat}/heel/least", { path: { boat: this.boat }, body }),
    );
    if (turn !== this.#turn) {
      await watch.leave();
      return null;
    }
    this.watch = watch;
    const end = await watch.end;
    if (turn !== this.#turn) return null;
    this.watch = null;
    if (end.state === "failed") this.trouble = end.advice;
    return end.state === "done" ? get("/api/jobs/{job}/heel", { path: { job: end.job } }) : null;
  }

  /** Ends work that nobody waits for any more. */
  async leave(): Promise<void> {
    const watch = this.watch;
    this.watch = null;
    await watch?.leave();
  }
}
