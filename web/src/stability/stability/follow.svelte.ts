/** One boat followed down and up: what is asked for, the work, and its answer, kept while the boat is unchanged. */

import { bytes, get, post } from "../../frame/api";
import type { BoatStore } from "../../frame/boat.svelte";
import type { StabilityAsk, StabilityOut } from "../../frame/shapes";
import { Work } from "../../frame/work.svelte";
import { Dive } from "./dive";

export type Filling = "together" | "order" | "rates";

export interface Settings {
  filling: Filling;
  /** Names of the tanks, first one first. */
  order: readonly string[];
  /** By the tank's name, as typed. */
  rates: Readonly<Record<string, string>>;
  stages: number;
  every: boolean;
}

export interface Found {
  out: StabilityOut;
  dive: Dive;
  /** The work that found it: the server keeps its answer for half an hour, for sheet, drawings and tables. */
  job: string;
  /** Settings that it was worked out with. */
  settings: Settings;
}

export const USUAL: Settings = { filling: "together", order: [], rates: {}, stages: 21, every: false };

/** The last answer of each boat outlives the page, so that a look at the weights does not ask for it again. */
const kept: Record<string, Found> = {};

export class Follow extends Work {
  /** The newest answer; one that was refused or cancelled leaves the one before it standing. */
  found = $state.raw<Found | null>(null);
  settings = $state.raw<Settings>(USUAL);

  constructor(readonly store: BoatStore) {
    super();
    const before = kept[store.boat];
    if (!before) return;
    this.found = before;
    this.settings = before.settings;
  }

  /** The boat has changed since she was followed. */
  get stale(): boolean {
    const found = this.found;
    return found !== null && found.out.revision !== this.store.state?.figures_revision;
  }

  /** Other settings stand there than those that the answer is for. */
  get other(): boolean {
    const found = this.found;
    return found !== null && JSON.stringify(askOf(found.settings)) !== JSON.stringify(askOf(this.settings));
  }

  set(change: Partial<Settings>): void {
    this.settings = { ...this.settings, ...change };
  }

  async ask(): Promise<void> {
    const { boat } = this.store;
    const settings = this.settings;
    await this.long(
      () => post("/api/boats/{boat}/stability", { path: { boat }, body: askOf(settings) }),
      async (job) => {
        const path = { job };
        const [out, dive, waters] = await Promise.all([
          get("/api/jobs/{job}/stability", { path }),
          get("/api/jobs/{job}/dive", { path }),
          bytes("/api/jobs/{job}/dive/waters", { path }),
        ]);
        return { out, dive: new Dive(dive, waters), job, settings };
      },
      (found) => (kept[boat] = this.found = found),
    );
  }
}

/** What is sent: only what belongs to the way of filling that is chosen. */
export function askOf({ filling, order, rates, stages, every }: Settings): StabilityAsk {
  return {
    filling,
    order: filling === "order" ? [...order] : [],
    rates: filling === "rates" ? { ...rates } : {},
    through: [],
    stages,
    every,
  };
}
