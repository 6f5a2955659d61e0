/** The points of a break line in the side view: moving one without running back, adding and taking away. */

export type Flat = readonly [number, number];

/** Where a house coordinate lies on the builder's own ruler, to the nearest step of it. */
export function snapped(at: number, origin: number, step: number): number {
  return origin + Math.round((at - origin) / step) * step;
}

/** The line with one point elsewhere: between its neighbours along the boat, and within the hull's box. */
export function withPoint(
  points: readonly Flat[],
  index: number,
  to: Flat,
  low: Flat,
  high: Flat,
  least: number,
): Flat[] {
  const before = points[index - 1]?.[0] ?? low[0];
  const after = points[index + 1]?.[0] ?? high[0];
  const x = Math.min(after, Math.max(before, to[0]));
  const z = Math.min(high[1] - least, Math.max(low[1] + least, to[1]));
  return points.map((point, at) => (at === index ? [x, z] : point));
}

/** The line with a step in the middle of its longest stretch: two points at one x, on the line. */
export function withStep(points: readonly Flat[], rise: number): Flat[] {
  let longest = 0;
  for (let at = 1; at + 1 < points.length; at += 1) {
    if (stretch(points, at) > stretch(points, longest)) longest = at;
  }
  const [from, to] = [points[longest], points[longest + 1]];
  if (!from || !to) return [...points];
  const x = (from[0] + to[0]) / 2;
  const z = (from[1] + to[1]) / 2;
  const rest = points.slice(longest + 1).map(([along, up]): Flat => [along, up + rise]);
  return [...points.slice(0, longest + 1), [x, z], [x, z + rise], ...rest];
}

export function withoutPoint(points: readonly Flat[], index: number): Flat[] {
  return points.length > 2 ? points.filter((_, at) => at !== index) : [...points];
}

function stretch(points: readonly Flat[], at: number): number {
  return (points[at + 1]?.[0] ?? 0) - (points[at]?.[0] ?? 0);
}

/** What the boat file takes: one height for a level line over the whole length, else the points. */
export function valueOf(
  texts: readonly (readonly string[])[],
  points: readonly Flat[],
  length: number,
): string | string[][] {
  const [first, last] = [points[0], points[points.length - 1]];
  const whole =
    points.length === 2 &&
    first !== undefined &&
    last !== undefined &&
    first[0] <= 1e-6 &&
    last[0] >= length - 1e-6 &&
    first[1] === last[1];
  const height = texts[0]?.[1];
  return whole && height !== undefined ? height : texts.map((pair) => [...pair]);
}
