/** Curves over the water inside: where a point lies on the paper, and round figures for the scales. */
import { tickStep } from "../../boat/rule";

export interface Scale {
  at: (value: number) => number;
  ticks: readonly { text: string; at: number }[];
}

/** A straight scale from `low` to `high` onto `from` to `to`, with about `count` round ticks. */
export function scaleOf(low: number, high: number, from: number, to: number, count: number): Scale {
  const span = high - low || 1;
  const step = tickStep(span / count);
  const at = (value: number): number => from + ((value - low) / span) * (to - from);
  const ticks = [];
  for (let number = Math.ceil(low / step - 1e-9); number <= Math.floor(high / step + 1e-9); number += 1) {
    const value = Number((number * step).toPrecision(10));
    ticks.push({ text: String(value).replace("-", "−"), at: at(value) });
  }
  return { at, ticks };
}

/** The ends of all values that are there, 0 among them. */
export function endsOf(...lists: readonly (readonly (number | null)[])[]): [number, number] {
  const values = lists.flat().filter((value) => value !== null);
  return [Math.min(0, ...values), Math.max(0, ...values)];
}

/** A line through the points; where a value is missing it stops and begins anew. */
export function lineOf(
  xs: readonly number[],
  ys: readonly (number | null)[],
  x: (value: number) => number,
  y: (value: number) => number,
): string {
  let path = "";
  let pen = false;
  xs.forEach((at, index) => {
    const value = ys[index] ?? null;
    if (value === null) {
      pen = false;
      return;
    }
    path += `${pen ? "L" : "M"}${x(at).toFixed(1)} ${y(value).toFixed(1)}`;
    pen = true;
  });
  return path;
}
