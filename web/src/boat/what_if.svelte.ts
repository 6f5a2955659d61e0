/**
 * What the builder is trying out: fills, and parts taken from their places, on top of the saved boat.
 *
 * A change that was saved is asked for no more, but stays in the picture until the scene itself holds it, so that
 * nothing jumps back in between. An answer counts only if it was worked out on the very text that it was asked on.
 */

import type { Answer, BoatState, Change, Op, Refused } from "../frame/shapes";
import { add, isZero, ORIGIN, type Vec3 } from "../scene/vectors";

/** What of the frame's BoatStore is needed here. */
export interface Boat {
  readonly boat: string;
  readonly state: BoatState | null;
  readonly live: {
    readonly answer: Answer | null;
    readonly refused: Refused | null;
    ask: (fills: Record<string, number>, changes: Change[]) => number;
  };
  edit: (what: string, ops: Op[]) => Promise<boolean>;
}

interface Tried {
  key: string;
  shift: Vec3;
  /** Keys of what goes along, such as all that is in a cylinder. */
  carried: readonly string[];
  mass: string | null;
  /** Open while the builder holds it; then on its way; then a revision that holds it. */
  stage: "open" | "sent" | number;
}

/** Fills outlive the page, so that a look at the weights does not drain the tanks. */
const fillsOf: Record<string, Readonly<Record<string, number>>> = {};

export class WhatIf {
  fills = $state.raw<Readonly<Record<string, number>>>({});
  /** The newest answer that fits the boat as it is. */
  answer = $state.raw<Answer | null>(null);
  /** Revision of the scene that is drawn; set by whoever draws it. */
  drawn = $state(0);
  #tried = $state.raw<readonly Tried[]>([]);
  /** Revision that each ask was made on, by its number; asks that were answered are forgotten. */
  #asked: Readonly<Record<number, number>> = {};
  /** Text that the changes on their way were made on; a newer one may hold them already. */
  #sentOn: number | null = null;
  #last = 0;

  /** How far each thing is drawn from where the scene has it. */
  readonly shifts: Readonly<Record<string, Vec3>> = $derived.by(() => {
    const sums: Record<string, Vec3> = {};
    for (const tried of this.#tried) {
      if (typeof tried.stage === "number" && tried.stage <= this.drawn) continue;
      for (const key of [tried.key, ...tried.carried]) sums[key] = add(sums[key] ?? ORIGIN, tried.shift);
    }
    return sums;
  });

  /** A change is on its way, and nobody can say yet which text holds it. */
  readonly settling: boolean = $derived(this.#tried.some((tried) => tried.stage === "sent"));

  constructor(readonly store: Boat) {
    this.fills = fillsOf[store.boat] ?? {};
  }

  /** Why the newest ask was refused; null when it was not. */
  get refused(): Refused | null {
    return this.store.live.refused;
  }

  share(key: string): number {
    return this.fills[key] ?? 0;
  }

  fill(key: string, share: number): void {
    this.fills = { ...this.fills, [key]: share };
    fillsOf[this.store.boat] = this.fills;
    this.ask();
  }

  fillAll(share: number): void {
    this.fills = Object.fromEntries((this.store.state?.tanks ?? []).map((tank) => [tank.key, share]));
    fillsOf[this.store.boat] = this.fills;
    this.ask();
  }

  /** How far the open change of a thing has moved it. */
  moved(key: string): Vec3 {
    return this.#open(key)?.shift ?? ORIGIN;
  }

  move(key: string, shift: Vec3, carried: readonly string[] = []): void {
    this.#put({ ...this.#new(key), shift, carried });
  }

  weigh(key: string, mass: string | null): void {
    this.#put({ ...this.#new(key), mass });
  }

  /** Takes the open change of a thing back. */
  takeBack(key: string): void {
    if (!this.#open(key)) return;
    this.#tried = this.#tried.filter((tried) => tried.key !== key || tried.stage !== "open");
    this.ask();
  }

  /** Saves the open change of a thing by these ops; true when it was saved. */
  async keep(key: string, what: string, ops: Op[]): Promise<boolean> {
    const open = this.#open(key);
    let mine: Tried | null = null;
    if (open) {
      mine = { ...open, stage: "sent" };
      this.#sentOn ??= this.store.state?.revision ?? null;
      this.#replace(open, mine);
    }
    const made = await this.store.edit(what, ops);
    if (mine) this.#settle(mine, made);
    return made;
  }

  /** Asks how she lies as things are now. */
  ask(): void {
    const state = this.store.state;
    if (state?.figures_revision == null) return;
    if (this.settling && this.#sentOn !== state.revision) return;
    const changes = this.#changes();
    const known = state.tanks.map((tank) => tank.key);
    const fills = Object.fromEntries(Object.entries(this.fills).filter(([key]) => known.includes(key)));
    const seq = this.store.live.ask(fills, changes);
    this.#last = seq;
    this.#asked = { ...this.#asked, [seq]: state.revision };
    performance.mark("dabchick-ask", { detail: seq });
  }

  /** Takes an answer, unless the boat has changed under it; then a newer one is on its way. */
  hear(answer: Answer): void {
    const basis = this.#asked[answer.seq];
    this.#asked = Object.fromEntries(Object.entries(this.#asked).filter(([seq]) => Number(seq) > answer.seq));
    if (basis === answer.revision) this.answer = answer;
    else if (basis !== undefined && answer.seq === this.#last && basis === this.store.state?.revision)
      this.ask();
  }

  /** The scene that is drawn now holds everything up to this revision. */
  drew(revision: number): void {
    this.drawn = revision;
    this.#tried = this.#tried.filter((tried) => typeof tried.stage === "string" || tried.stage > revision);
  }

  /** All that is tried and in no text yet, each thing once. */
  #changes(): Change[] {
    const shifts: Record<string, Vec3> = {};
    const masses: Record<string, string> = {};
    for (const { key, shift, carried, mass, stage } of this.#tried) {
      if (typeof stage === "number") continue;
      if (mass !== null) masses[key] = mass;
      for (const each of [key, ...carried]) shifts[each] = add(shifts[each] ?? ORIGIN, shift);
    }
    return Object.entries(shifts)
      .filter(([key, shift]) => !isZero(shift) || masses[key] !== undefined)
      .map(([key, shift]) => ({ key, shift_m: [...shift], mass: masses[key] ?? null }));
  }

  #settle(mine: Tried, made: boolean): void {
    const state = this.store.state;
    const held = made && state?.figures_revision === state?.revision ? (state?.revision ?? null) : null;
    if (held !== null && held > this.drawn) this.#replace(mine, { ...mine, stage: held });
    else this.#tried = this.#tried.filter((tried) => tried !== mine);
    if (!this.settling) this.#sentOn = null;
    this.ask();
  }

  #open(key: string): Tried | undefined {
    return this.#tried.find((tried) => tried.key === key && tried.stage === "open");
  }

  #new(key: string): Tried {
    return this.#open(key) ?? { key, shift: ORIGIN, carried: [], mass: null, stage: "open" };
  }

  #put(tried: Tried): void {
    const open = this.#open(tried.key);
    if (open) this.#replace(open, tried);
    else this.#tried = [...this.#tried, tried];
    this.ask();
  }

  #replace(old: Tried, by: Tried): void {
    this.#tried = this.#tried.map((tried) => (tried === old ? by : tried));
  }
}
