/** The verdict and the search for a cure on the server; the old answers are kept while new ones are worked out. */
import { get, post, Refusal } from "../../frame/api";
import type { BoatStore } from "../../frame/boat.svelte";
import { JobWatch } from "../../frame/job.svelte";
import { messages } from "../../frame/messages.svelte";
import type { AdviceOut, CriteriaOut, CureOut, LimitsAsk } from "../../frame/shapes";
import { who } from "../../frame/who.svelte";

export type LimitKey = keyof LimitsAsk;
export type Typed = Readonly<Partial<Record<LimitKey, string>>>;

/** What was typed, as the server wants it: nothing typed is the usual limit. */
export function asked(typed: Typed): LimitsAsk {
  const text = (key: LimitKey) => typed[key]?.trim() ?? "";
  return {
    gm: text("gm") || null,
    bg: text("bg") || null,
    range: text("range") || null,
    arm: text("arm") || null,
    gm_longitudinal: text("gm_longitudinal") || null,
  };
}

export class CriteriaWork {
  verdict = $state.raw<CriteriaOut | null>(null);
  cures = $state.raw<CureOut | null>(null);
  watch = $state.raw<JobWatch | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  /** It was stopped by hand and waits to be started again. */
  stopped = $state(false);
  /** Number of the cure that is being written. */
  applying = $state<number | null>(null);
  #turn = 0;
  #job = "";

  constructor(readonly boat: string) {}

  async judge(typed: Typed): Promise<void> {
    const boat = this.boat;
    await this.#run(
      () => post("/api/boats/{boat}/criteria", { path: { boat }, body: asked(typed) }),
      async (job) => {
        this.verdict = await get("/api/jobs/{job}/criteria", { path: { job } });
        this.cures = null;
      },
    );
  }

  async cure(typed: Typed): Promise<void> {
    const boat = this.boat;
    await this.#run(
      () => post("/api/boats/{boat}/cure", { path: { boat }, body: asked(typed) }),
      async (job) => {
        const found = await get("/api/jobs/{job}/cure", { path: { job } });
        [this.cures, this.verdict, this.#job] = [found, found.criteria, job];
      },
    );
  }

  async #run(begin: () => Promise<JobWatch["now"]>, take: (job: string) => Promise<void>): Promise<void> {
    this.#turn += 1;
    const turn = this.#turn;
    await this.leave();
    [this.trouble, this.stopped] = [[], false];
    try {
      const watch = new JobWatch(await begin());
      if (turn !== this.#turn) return void (await watch.leave());
      this.watch = watch;
      const end = await watch.end;
      if (turn !== this.#turn) return;
      this.watch = null;
      if (end.state === "done") await take(end.job);
      else if (end.state === "failed") this.trouble = end.advice;
      else this.stopped = true;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (turn === this.#turn) [this.watch, this.trouble] = [null, error.advice];
    }
  }

  /** Writes one cure into the boat file: one step. */
  async apply(store: BoatStore, number: number): Promise<void> {
    if (!store.state) return;
    this.applying = number;
    try {
      const body = { base: store.state.revision, by: who.name, job: this.#job, number };
      store.take(await post("/api/boats/{boat}/cure/apply", { path: { boat: this.boat }, body }));
      messages.say("The cure is written into the boat file. Undo takes it back.");
    } catch (error) {
      messages.refused("The cure was not written", error);
      if (error instanceof Refusal && error.stale) await store.refresh();
    } finally {
      this.applying = null;
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
