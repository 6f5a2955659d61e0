/** Where the righting moment and the heeling moment stand on paper. */
import type { HeelCauseOut, HeelStateOut } from "../../frame/shapes";

/** Heels shown [deg]: as far as anything of interest goes, and at least this far. */
export const LEAST_SPAN_DEG = 40;

export interface Point {
  heel: number;
  moment: number;
}

/** Straight between the two nearest heels; NaN outside. */
export function at(heels: readonly number[], values: readonly number[], heel: number): number {
  const next = heels.findIndex((one) => one >= heel);
  if (next < 0 || (next === 0 && heels[0] !== heel)) return NaN;
  if (next === 0) return values[0] ?? NaN;
  const [a, b] = [heels[next - 1] ?? 0, heels[next] ?? 0];
  const [u, v] = [values[next - 1] ?? NaN, values[next] ?? NaN];
  return u + ((v - u) * (heel - a)) / (b - a);
}

/** How far to either side the picture goes [deg]: twice as far as she swings, 100 at most, or as she goes over. */
export function span(cause: HeelCauseOut | null): number {
  if (!cause) return 60;
  if (cause.heel_deg === null || cause.swings_deg === null) return 100;
  const far = Math.max(Math.abs(cause.heel_deg), Math.abs(cause.swings_deg)) * 1.4;
  return Math.min(100, Math.max(LEAST_SPAN_DEG, Math.ceil(far / 10) * 10));
}

/** The points of a curve between two heels. */
export function within(heels: readonly number[], values: readonly number[], most: number): Point[] {
  return heels.flatMap((heel, index) => {
    const moment = values[index];
    return moment !== undefined && Math.abs(heel) <= most ? [{ heel, moment }] : [];
  });
}

/** The cause that takes her furthest, or over. */
export function worst(state: HeelStateOut): number {
  let found = 0;
  state.causes.forEach((cause, index) => {
    const best = state.causes[found];
    if (best && away(cause, state.rest_deg) > away(best, state.rest_deg)) found = index;
  });
  return found;
}

function away(cause: HeelCauseOut, rest: number): number {
  return cause.heel_deg === null ? Infinity : Math.abs(cause.heel_deg - rest);
}
