/** A map on a mesh, parted into one mesh for each band, so that each is drawn in a tone of its own. */

import { TONES } from "../scene/looks";
import type { Extra } from "../scene/view";

export function bandKey(number: number): string {
  return `band[${number}]`;
}

/** Bands with at least one triangle; those without a reading (number 0) go with the last. */
export function bandExtras(
  positions: ArrayLike<number>,
  indices: readonly number[],
  bandOf: readonly number[],
  names: readonly string[],
): Extra[] {
  const parts = names.map((): number[] => []);
  for (let face = 0; 3 * face + 2 < indices.length; face += 1) {
    const band = bandOf[face] ?? 0;
    const part = parts[band === 0 ? parts.length - 1 : band - 1];
    part?.push(indices[3 * face] ?? 0, indices[3 * face + 1] ?? 0, indices[3 * face + 2] ?? 0);
  }
  return parts.flatMap((part, index) => {
    const kind = TONES[Math.min(index, TONES.length - 1)];
    if (part.length === 0 || kind === undefined) return [];
    const mesh = only(positions, part);
    return [{ key: bandKey(index + 1), name: names[index] ?? "", kind, mesh }];
  });
}

/** The triangles with no more vertices than they use. */
function only(positions: ArrayLike<number>, indices: readonly number[]) {
  const number = new Map<number, number>();
  const kept: number[] = [];
  const again = indices.map((vertex) => {
    const known = number.get(vertex);
    if (known !== undefined) return known;
    const fresh = number.size;
    number.set(vertex, fresh);
    kept.push(positions[3 * vertex] ?? 0, positions[3 * vertex + 1] ?? 0, positions[3 * vertex + 2] ?? 0);
    return fresh;
  });
  return { positions: kept, indices: again };
}
