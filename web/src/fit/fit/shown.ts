/** What the pictures of the fit page point at. */
import type { Body } from "../../frame/shapes";
import type { Vec3 } from "../../scene/vectors";
import type { Extra } from "../../scene/view";

export interface Shown {
  /** Key of the part in question, drawn in the warning's colour; null for none. */
  first: string | null;
  /** What it meets; `hull` for the hull. */
  second: string | null;
  /** Where the two come nearest; both alike where they share room. */
  points: readonly [Vec3, Vec3] | null;
  /** Where parts stand for now, such as half way in. */
  shifts: Readonly<Record<string, Vec3>>;
  /** Where the hull is opened: what lies at normal . x > offset is off. */
  opened: { normal: Vec3; offset: number } | null;
  /** A straight cylinder that is not part of the boat. */
  cylinder: { aft: Vec3; fore: Vec3; radius: number; mesh: Extra["mesh"] } | null;
}

export const NOTHING: Shown = {
  first: null,
  second: null,
  points: null,
  shifts: {},
  opened: null,
  cylinder: null,
};

/** Names of the same: stands for what the pictures point at when they mark it. */
export const MARK = "mark";

const FACES = [0, 2, 4, 2, 1, 4, 1, 3, 4, 3, 0, 4, 2, 0, 5, 1, 2, 5, 3, 1, 5, 0, 3, 5];

/** A small double pyramid about each of some points, joined into one mesh. */
export function markMesh(points: readonly Vec3[], size: number): Extra["mesh"] {
  const positions: number[] = [];
  const indices: number[] = [];
  for (const [x, y, z] of points) {
    const first = positions.length / 3;
    positions.push(
      x + size,
      y,
      z,
      x - size,
      y,
      z,
      x,
      y + size,
      z,
      x,
      y - size,
      z,
      x,
      y,
      z + size,
      x,
      y,
      z - size,
    );
    indices.push(...FACES.map((corner) => first + corner));
  }
  return { positions, indices };
}

/** The hull, what holds the two in question, and these; everything where there are none. */
export function bodiesFor(bodies: readonly Body[], shown: Shown): Body[] {
  const wanted = new Set([shown.first, shown.second].filter((key) => key !== null && key !== "hull"));
  if (wanted.size === 0) return bodies.filter((body) => body.kind !== "place");
  const holders = new Set(bodies.filter((body) => wanted.has(body.key)).map((body) => body.inside));
  return bodies.filter(
    (body) =>
      body.kind === "hull" ||
      wanted.has(body.key) ||
      body.key in shown.shifts ||
      (body.kind === "dry" && holders.has(body.name)),
  );
}
