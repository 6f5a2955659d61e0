/** The outline of a mesh seen along an axis, as the highest and lowest that it reaches at each place along. */

import type { Mesh } from "../scene/meshes";

export type Flat = [number, number];

/** A closed outline; empty for a mesh without extent. `along` and `up` are axes 0, 1, 2 of the mesh. */
export function envelope(mesh: Mesh, along: number, up: number, places = 160): Flat[] {
  const { positions, indices } = mesh;
  let [from, to] = [Infinity, -Infinity];
  for (let at = along; at < positions.length; at += 3) {
    from = Math.min(from, positions[at] ?? from);
    to = Math.max(to, positions[at] ?? to);
  }
  const step = (to - from) / places;
  if (!(step > 0)) return [];
  const low = new Float64Array(places + 1).fill(Infinity);
  const high = new Float64Array(places + 1).fill(-Infinity);
  const reach = (place: number, value: number) => {
    if (value < (low[place] ?? 0)) low[place] = value;
    if (value > (high[place] ?? 0)) high[place] = value;
  };
  for (let corner = 0; corner < indices.length; corner += 1) {
    const next = corner % 3 === 2 ? corner - 2 : corner + 1;
    const [a, b] = [3 * (indices[corner] ?? 0), 3 * (indices[next] ?? 0)];
    let [x0, y0] = [((positions[a + along] ?? 0) - from) / step, positions[a + up] ?? 0];
    let [x1, y1] = [((positions[b + along] ?? 0) - from) / step, positions[b + up] ?? 0];
    if (x1 < x0) [x0, y0, x1, y1] = [x1, y1, x0, y0];
    // A corner counts at the nearest place, so that blunt ends and masts keep their height.
    reach(Math.round(x0), y0);
    reach(Math.round(x1), y1);
    for (let place = Math.ceil(x0); place <= Math.floor(x1) && x1 > x0; place += 1) {
      reach(place, y0 + ((y1 - y0) * (place - x0)) / (x1 - x0));
    }
  }
  const held = [...low.keys()].filter((place) => (low[place] ?? 0) <= (high[place] ?? 0));
  const over = held.map((place): Flat => [from + place * step, high[place] ?? 0]);
  const under = held.map((place): Flat => [from + place * step, low[place] ?? 0]);
  return [...over, ...under.reverse()];
}

/** Low and high corner of all points. */
export function boundsOf(positions: ArrayLike<number>): {
  low: [number, number, number];
  high: [number, number, number];
} {
  const low: [number, number, number] = [Infinity, Infinity, Infinity];
  const high: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (let at = 0; at < positions.length; at += 1) {
    const axis = (at % 3) as 0 | 1 | 2;
    low[axis] = Math.min(low[axis], positions[at] ?? Infinity);
    high[axis] = Math.max(high[axis], positions[at] ?? -Infinity);
  }
  return { low, high };
}
