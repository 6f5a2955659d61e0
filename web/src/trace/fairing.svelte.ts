/** Faired curves from the server: one question under way, the newest points of each curve next. */

import { post, Refusal } from "../frame/api";
import type { CurveDrawn } from "../frame/shapes";
import type { Curve } from "./document";

interface Kept {
  key: string;
  count: number;
  drawn: CurveDrawn;
}

const NOTHING: CurveDrawn = { line: [], comb: [], comb_scale: 0 };

export class Fairing {
  #kept = $state.raw<Readonly<Record<string, Kept>>>({});
  #wanted: Record<string, { key: string; curve: Curve }> = {};
  #asking = false;

  /** The newest answer for a place; while a point is dragged it is a moment old. */
  drawn(slot: string): CurveDrawn {
    return this.#kept[slot]?.drawn ?? NOTHING;
  }

  /** What came with the document needs not be asked for. */
  know(slot: string, curve: Curve, drawn: CurveDrawn): void {
    this.#kept = { ...this.#kept, [slot]: { key: keyOf(curve), count: curve.points.length, drawn } };
  }

  /** Says which curves are to be drawn; asks for those that have changed. */
  want(curves: readonly { slot: string; curve: Curve }[]): void {
    for (const { slot, curve } of curves) {
      const key = keyOf(curve);
      if (this.#kept[slot]?.key !== key) this.#wanted[slot] = { key, curve };
      else if (slot in this.#wanted) this.#wanted = leftOut(this.#wanted, slot);
    }
    if (!this.#asking && Object.keys(this.#wanted).length > 0) void this.#ask();
  }

  async #ask(): Promise<void> {
    this.#asking = true;
    try {
      for (;;) {
        const asked = Object.entries(this.#wanted);
        if (asked.length === 0) break;
        this.#wanted = {};
        const curves = asked.map(([slot, { curve }]) => {
          const before = this.#kept[slot];
          // The comb keeps its scale while points only move; else it would breathe under the hand.
          const same = before?.count === curve.points.length && before.drawn.comb_scale > 0;
          return {
            points: curve.points,
            corners: curve.corners,
            closed: curve.role === "outline",
            comb_scale: same ? before.drawn.comb_scale : null,
          };
        });
        const answer = await post("/api/trace/fair", { body: { curves } });
        const kept = { ...this.#kept };
        asked.forEach(([slot, { key, curve }], index) => {
          const drawn = answer.curves[index];
          if (drawn) kept[slot] = { key, count: curve.points.length, drawn };
        });
        this.#kept = kept;
      }
    } catch (error) {
      // The points themselves are drawn by the page; the next change asks again.
      if (!(error instanceof Refusal)) throw error;
    } finally {
      this.#asking = false;
    }
  }
}

function keyOf(curve: Curve): string {
  return `${curve.role === "outline"}${curve.corners.join()}|${curve.points.join()}`;
}

function leftOut<T>(record: Record<string, T>, slot: string): Record<string, T> {
  return Object.fromEntries(Object.entries(record).filter(([name]) => name !== slot));
}
