/** The sign of a fault in the 3-D picture. */

import type { Vec3 } from "../scene/vectors";

/** A small octahedron about a point. */
export function diamond(at: Vec3, size: number): { positions: number[]; indices: number[] } {
  const positions: number[] = [];
  for (const axis of [0, 1, 2]) {
    for (const way of [size, -size]) {
      positions.push(...at.map((value, index) => (index === axis ? value + way : value)));
    }
  }
  const indices: number[] = [];
  for (const x of [0, 1])
    for (const y of [2, 3])
      for (const z of [4, 5]) {
        const outward = (x + y + z) % 2 === 0;
        indices.push(...(outward ? [x, y, z] : [x, z, y]));
      }
  return { positions, indices };
}
