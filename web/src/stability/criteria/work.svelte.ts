/** The verdict and the search for a cure on the server; the old answers are kept while new ones are worked out. */
import { get, post, Refusal } from "../../frame/api";
import type { BoatStore } from "../../frame/boat.svelte";
import { messages } from "../../frame/messages.svelte";
import type { CriteriaOut, CureOut, LimitsAsk } from "../../frame/shapes";
import { who } from "../../frame/who.svelte";
import { Work } from "../../frame/work.svelte";

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

export class CriteriaWork extends Work {
  verdict = $state.raw<CriteriaOut | null>(null);
  cures = $state.raw<CureOut | null>(null);
  /** Number of the cure that is being written. */
  applying = $state<number | null>(null);
  #job = "";

  constructor(readonly boat: string) {
    super();
  }

  async judge(typed: Typed): Promise<void> {
    await this.long(
      () => post("/api/boats/{boat}/criteria", { path: { boat: this.boat }, body: asked(typed) }),
      (job) => get("/api/jobs/{job}/criteria", { path: { job } }),
      (verdict) => ([this.verdict, this.cures] = [verdict, null]),
    );
  }

  async cure(typed: Typed): Promise<void> {
    await this.long(
      () => post("/api/boats/{boat}/cure", { path: { boat: this.boat }, body: asked(typed) }),
      async (job) => ({ job, found: await get("/api/jobs/{job}/cure", { path: { job } }) }),
      ({ job, found }) => ([this.cures, this.verdict, this.#job] = [found, found.criteria, job]),
    );
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
}
