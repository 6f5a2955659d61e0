/** The meshes of a scene, read from their one binary answer. */

import type { Body } from "../frame/shapes";
import type { Vec3 } from "./vectors";

export interface Mesh {
  /** x, y, z of each vertex, house frame [m]. */
  positions: Float32Array;
  /** Three to a triangle. */
  indices: Uint32Array;
}

/** Meshes by the key of their body; throws where the answer is not what the scene says. */
export function readMeshes(bodies: readonly Body[], bytes: ArrayBuffer): Map<string, Mesh> {
  const meshes = new Map<string, Mesh>();
  for (const body of bodies) {
    const place = body.mesh;
    if (!place) continue;
    const indicesAt = place.offset + 12 * place.vertices;
    const end = indicesAt + 12 * place.triangles;
    if (end > bytes.byteLength) {
      throw new RangeError(`The meshes end at byte ${bytes.byteLength}, but ${body.name} needs ${end}.`);
    }
    meshes.set(body.key, {
      positions: new Float32Array(bytes, place.offset, 3 * place.vertices),
      indices: new Uint32Array(bytes, indicesAt, 3 * place.triangles),
    });
  }
  return meshes;
}

const POINTS = 160;

/** Some of a mesh's vertices, evenly taken. */
export function spread({ positions }: Mesh): Vec3[] {
  const step = 3 * Math.max(1, Math.floor(positions.length / 3 / POINTS));
  const points: Vec3[] = [];
  for (let from = 0; from + 2 < positions.length; from += step) {
    points.push([positions[from] ?? 0, positions[from + 1] ?? 0, positions[from + 2] ?? 0]);
  }
  return points;
}
