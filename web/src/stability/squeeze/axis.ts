/** Ticks along the axes of a curve over depth. */
import { tickStep } from "../../boat/rule";

export interface AxisTick {
  at: number;
  text: string;
}

/** Least and greatest of all values with zero among them, a little room at both ends, never of no width. */
export function span(values: readonly number[], least: number): readonly [number, number] {
  const low = Math.min(0, ...values);
  const high = Math.max(0, ...values);
  const short = Math.max(0, least - (high - low)) / 2;
  const room = 0.06 * (high - low + 2 * short);
  return [low - short - (low < 0 || short > 0 ? room : 0), high + short + room];
}

/** Round ticks between two values, at least `room` apart. */
export function axisTicks(ends: readonly [number, number], room: number): AxisTick[] {
  const step = tickStep(room);
  const list: AxisTick[] = [];
  for (let count = Math.ceil(ends[0] / step - 1e-9); count <= Math.floor(ends[1] / step + 1e-9); count += 1) {
    const at = Number((count * step).toPrecision(10));
    list.push({ at, text: String(at === 0 ? 0 : at).replace("-", "−") });
  }
  return list;
}

/** Heights of labels moved down just as far as keeps them `gap` apart; the order stays. */
export function spread(heights: readonly number[], gap: number): number[] {
  const placed: number[] = [];
  for (const height of heights) placed.push(Math.max(height, (placed[placed.length - 1] ?? -Infinity) + gap));
  return placed;
}
