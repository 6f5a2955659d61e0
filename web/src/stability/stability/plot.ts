/** Arithmetic of the plots: where a figure stands on paper, round ticks, and lines with gaps. No physics. */

import { tickStep } from "../../boat/rule";

export type Value = number | null | undefined;
export type Point = readonly [number, number];

/** From figures between `low` and `high` to pixels between `from` and `to`; `to` may be the smaller one. */
export interface Scale {
  low: number;
  high: number;
  from: number;
  to: number;
}

export interface Tick {
  at: number;
  text: string;
}

export function onPaper(scale: Scale, value: number): number {
  return scale.from + ((value - scale.low) / (scale.high - scale.low)) * (scale.to - scale.from);
}

/** The figure at a pixel, kept within the scale. */
export function offPaper(scale: Scale, pixel: number): number {
  const share = Math.min(1, Math.max(0, (pixel - scale.from) / (scale.to - scale.from)));
  return scale.low + share * (scale.high - scale.low);
}

/** A number for people: no noise of binary fractions, and a minus that is as wide as a plus. */
export function figureText(value: number): string {
  return String(Number(value.toPrecision(10))).replace("-", "−");
}

/** Lowest and highest of some values, at least `least` apart and out to whole ticks, of which there are about `count`. */
export function rangeOf(
  values: readonly Value[],
  least: number,
  count: number,
): { low: number; high: number; step: number } {
  const known = values.filter((value): value is number => value != null && Number.isFinite(value));
  let low = known.reduce((least, value) => Math.min(least, value), Infinity);
  let high = known.reduce((most, value) => Math.max(most, value), -Infinity);
  if (known.length === 0) [low, high] = [0, least];
  const short = least - (high - low);
  if (short > 0) [low, high] = [low - short / 2, high + short / 2];
  const step = tickStep((high - low) / count);
  // Binary noise must not push a value that stands on a tick over to the next one.
  return {
    low: Math.floor(low / step + 1e-9) * step,
    high: Math.ceil(high / step - 1e-9) * step,
    step,
  };
}

/** Round ticks from `low` to `high`. */
export function ticksBetween(low: number, high: number, step: number): Tick[] {
  const list: Tick[] = [];
  for (let count = Math.ceil(low / step - 1e-6); count <= Math.floor(high / step + 1e-6); count += 1) {
    list.push({ at: count * step, text: figureText(count * step) });
  }
  return list;
}

function at(point: Point): string {
  return `${point[0].toFixed(1)} ${point[1].toFixed(1)}`;
}

/** A line through points in order, with a gap where one is missing. */
export function lineThrough(points: readonly (Point | null)[]): string {
  let path = "";
  let open = false;
  for (const point of points) {
    if (point !== null) path += (open ? "L" : "M") + at(point);
    open = point !== null;
  }
  return path;
}

/** Points of a row of figures over their places; null where one is not known. */
export function pointsOf(
  x: Scale,
  y: Scale,
  places: readonly number[],
  values: readonly Value[],
): (Point | null)[] {
  return places.map((place, index) => {
    const value = values[index];
    return value == null ? null : [onPaper(x, place), onPaper(y, value)];
  });
}

/** The points with a gap wherever one of the breaks lies between two of their places: there she goes over. */
export function brokenAt(
  points: readonly (Point | null)[],
  places: readonly number[],
  breaks: readonly number[],
): (Point | null)[] {
  return points.flatMap((point, index): (Point | null)[] => {
    const [before, here] = [places[index - 1], places[index]];
    if (before === undefined || here === undefined) return [point];
    const [low, high] = [Math.min(before, here), Math.max(before, here)];
    return breaks.some((one) => one > low && one <= high) ? [null, point] : [point];
  });
}

/** Those parts of a line where it differs from another: a stretch is drawn when either of its ends does. */
export function whereDiffers(
  points: readonly (Point | null)[],
  differs: readonly boolean[],
): (Point | null)[] {
  return points.map((point, index) =>
    differs[index] || differs[index - 1] || differs[index + 1] ? point : null,
  );
}

/** The band of one spread to either side of a line, one closed shape for each unbroken stretch. */
export function bandAlong(
  x: Scale,
  y: Scale,
  places: readonly number[],
  values: readonly Value[],
  spreads: readonly Value[],
): string {
  const stretches: number[][] = [[]];
  places.forEach((_, index) => {
    if (values[index] == null || spreads[index] == null) stretches.push([]);
    else stretches[stretches.length - 1]?.push(index);
  });
  const edge = (index: number, side: number): string =>
    at([
      onPaper(x, places[index] ?? 0),
      Math.min(
        Math.max(y.from, y.to),
        Math.max(Math.min(y.from, y.to), onPaper(y, (values[index] ?? 0) + side * (spreads[index] ?? 0))),
      ),
    ]);
  return stretches
    .filter((stretch) => stretch.length > 1)
    .map((stretch) => {
      const upper = stretch.map((index) => edge(index, 1));
      const lower = [...stretch].reverse().map((index) => edge(index, -1));
      return `M${[...upper, ...lower].join("L")}Z`;
    })
    .join("");
}

/** The row for each label, the first that has room: labels reach `width` to the right from their x and stay in order. */
export function rowsFor(labels: readonly { x: number; width: number }[], gap: number): number[] {
  const ends: number[] = [];
  return labels.map(({ x, width }) => {
    let row = ends.findIndex((end) => end + gap <= x);
    if (row < 0) row = ends.length;
    ends[row] = x + width;
    return row;
  });
}

/** Heights for labels beside a plot: as near to where they belong as they can be while `apart` from each other. */
export function spreadOut(wanted: readonly number[], apart: number): number[] {
  const order = wanted.map((_, index) => index).sort((a, b) => (wanted[a] ?? 0) - (wanted[b] ?? 0));
  const placed = [...wanted];
  for (let turn = 0; turn < wanted.length * 4; turn += 1) {
    let moved = false;
    for (let place = 1; place < order.length; place += 1) {
      const [upper, lower] = [order[place - 1] ?? 0, order[place] ?? 0];
      const short = apart - ((placed[lower] ?? 0) - (placed[upper] ?? 0));
      if (short <= 1e-6) continue;
      placed[upper] = (placed[upper] ?? 0) - short / 2;
      placed[lower] = (placed[lower] ?? 0) + short / 2;
      moved = true;
    }
    if (!moved) break;
  }
  return placed;
}
