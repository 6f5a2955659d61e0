/** What a point catches on while it is set: ends of other lines first, then the lines that are truly level or square. */

import type { Place, View } from "./document";

export interface Targets {
  points: readonly { place: Place; what: string }[];
  lines: readonly { from: Place; to: Place; what: string }[];
}

export interface Caught {
  place: Place;
  /** What it lies on, in words; empty for nothing. */
  on: string;
}

/** Everything in a view that a point of one curve may catch on. */
export function targets(view: View, curve: number, point: number | null): Targets {
  const points: { place: Place; what: string }[] = [];
  view.curve.forEach((other, index) => {
    if (index === curve) return;
    const ends = [other.points[0], other.points.length > 1 ? other.points.at(-1) : undefined];
    for (const place of ends) if (place) points.push({ place, what: `end of ${other.name || other.role}` });
  });
  const own = view.curve[curve];
  const lines: { from: Place; to: Place; what: string }[] = [];
  if (view.level)
    lines.push({
      from: view.level.from,
      to: view.level.to,
      what: view.kind === "top" ? "the middle line" : "the level line",
    });
  if (view.square)
    lines.push({
      from: view.square.from,
      to: view.square.to,
      what: view.kind === "section" ? "the middle line" : "the square line",
    });
  const keel = own?.points[0];
  if (view.kind === "section" && view.level && !view.square && keel && point !== 0) {
    const { from, to } = view.level;
    // Without a line of its own the axis stands square to the level line, through the keel.
    lines.push({
      from: keel,
      to: [keel[0] - (to[1] - from[1]), keel[1] + (to[0] - from[0])],
      what: "the axis",
    });
  }
  return { points, lines };
}

/** The place, or the nearest target within reach (picture pixels). */
export function snapped(place: Place, { points, lines }: Targets, reach: number): Caught {
  let best: Caught = { place, on: "" };
  let least = reach;
  for (const one of points) {
    const away = Math.hypot(one.place[0] - place[0], one.place[1] - place[1]);
    if (away <= least) [best, least] = [{ place: one.place, on: one.what }, away];
  }
  if (best.on) return best;
  for (const line of lines) {
    const foot = footOn(line.from, line.to, place);
    if (!foot) continue;
    const away = Math.hypot(foot[0] - place[0], foot[1] - place[1]);
    if (away <= least) [best, least] = [{ place: foot, on: line.what }, away];
  }
  return best;
}

function footOn(from: Place, to: Place, place: Place): Place | null {
  const way: Place = [to[0] - from[0], to[1] - from[1]];
  const size = way[0] * way[0] + way[1] * way[1];
  if (size === 0) return null;
  const part = ((place[0] - from[0]) * way[0] + (place[1] - from[1]) * way[1]) / size;
  return [from[0] + part * way[0], from[1] + part * way[1]];
}

/** The nearest of some places within reach, by number; null for none. */
export function nearest(places: readonly Place[], to: Place, reach: number): number | null {
  let best: number | null = null;
  let least = reach;
  places.forEach((place, index) => {
    const away = Math.hypot(place[0] - to[0], place[1] - to[1]);
    if (away <= least) [best, least] = [index, away];
  });
  return best;
}

/** How far a place lies from a drawn line (x, y, x, y ...), and behind which of its points. */
export function fromLine(line: readonly number[], place: Place): { away: number; foot: Place } {
  let found = { away: Infinity, foot: place };
  for (let at = 0; at + 3 < line.length; at += 2) {
    const a: Place = [line[at] ?? 0, line[at + 1] ?? 0];
    const b: Place = [line[at + 2] ?? 0, line[at + 3] ?? 0];
    const way: Place = [b[0] - a[0], b[1] - a[1]];
    const size = way[0] * way[0] + way[1] * way[1] || 1;
    const part = Math.min(Math.max(((place[0] - a[0]) * way[0] + (place[1] - a[1]) * way[1]) / size, 0), 1);
    const foot: Place = [a[0] + part * way[0], a[1] + part * way[1]];
    const away = Math.hypot(foot[0] - place[0], foot[1] - place[1]);
    if (away < found.away) found = { away, foot };
  }
  return found;
}
