/** Curves over time: from values to points on paper, and the ends of a scale that holds them all. */

export interface Scale {
  low: number;
  high: number;
}

/** Ends that hold all values, a little room over and under them, never of no height. */
export function scaleOf(values: readonly number[], least: number): Scale {
  const finite = values.filter((value) => Number.isFinite(value));
  if (finite.length === 0) return { low: 0, high: least };
  const low = Math.min(...finite);
  const high = Math.max(...finite);
  const room = Math.max(0.08 * (high - low), 0.5 * (least - (high - low)), 0);
  return { low: low - room, high: high + room };
}

/** Round values on a scale, at least `apart` of its height from each other. */
export function marks(scale: Scale, step: number): number[] {
  const first = Math.ceil(scale.low / step - 1e-9);
  const last = Math.floor(scale.high / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, index) =>
    Number(((first + index) * step).toPrecision(8)),
  );
}

/** A path through all points whose value is a number. */
export function pathOf(
  times: readonly number[],
  values: readonly number[],
  x: (time: number) => number,
  y: (value: number) => number,
): string {
  let path = "";
  times.forEach((time, index) => {
    const value = values[index];
    if (value === undefined || !Number.isFinite(value)) return;
    path += `${path ? "L" : "M"}${x(time).toFixed(1)} ${y(value).toFixed(1)}`;
  });
  return path;
}
