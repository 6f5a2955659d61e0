/** A box as a mesh to draw: twelve triangles that look outward. */

import type { Vec3 } from "../../scene/vectors";

export interface BoxMesh {
  positions: number[];
  indices: number[];
}

/** Corners count x fastest: corner 0 is the low one, 7 the high one. */
export function boxMesh(low: Vec3, high: Vec3): BoxMesh {
  const positions: number[] = [];
  for (let corner = 0; corner < 8; corner += 1) {
    positions.push(
      corner & 1 ? high[0] : low[0],
      corner & 2 ? high[1] : low[1],
      corner & 4 ? high[2] : low[2],
    );
  }
  const sides = [
    [0, 4, 6, 2],
    [1, 3, 7, 5],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 2, 3, 1],
    [4, 5, 7, 6],
  ] as const;
  return { positions, indices: sides.flatMap(([a, b, c, d]) => [a, b, c, a, c, d]) };
}
