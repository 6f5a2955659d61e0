/** From a moved pointer to a shift of a part in the house frame. */

import { add, directionToHouse, dot, scaled, snapped, subtract, type Pose, type Vec3 } from "./vectors";

/** Along the boat, across, up, or freely in the plane of the picture. */
export type Way = "free" | "x" | "y" | "z";

export interface Ray {
  from: Vec3;
  /** Of length 1. */
  along: Vec3;
}

const AXES: Readonly<Record<Exclude<Way, "free">, Vec3>> = { x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] };

/** Where a ray meets the plane through `point` square to `normal`; null where it runs along it or away from it. */
export function meets(ray: Ray, point: Vec3, normal: Vec3): Vec3 | null {
  const slope = dot(ray.along, normal);
  if (Math.abs(slope) < 1e-9) return null;
  const way = dot(subtract(point, ray.from), normal) / slope;
  return way > 0 ? add(ray.from, scaled(ray.along, way)) : null;
}

/** A ray of the world in the house frame. */
export function rayInHouse(ray: Ray, pose: Pose): Ray {
  const zero: Vec3 = [pose[12] ?? 0, pose[13] ?? 0, pose[14] ?? 0];
  return { from: directionToHouse(pose, subtract(ray.from, zero)), along: directionToHouse(pose, ray.along) };
}

/** How far along `axis` from `point` a ray passes closest; null where it looks straight along the axis. */
export function closestAlong(ray: Ray, point: Vec3, axis: Vec3): number | null {
  const skew = dot(ray.along, axis);
  const room = 1 - skew * skew;
  if (room < 1e-4) return null;
  const between = subtract(point, ray.from);
  return (skew * dot(between, ray.along) - dot(between, axis)) / room;
}

/**
 * The shift from one ray to another, both in the house frame, for a part gripped at `grip`; `view` is the direction
 * in which the picture is seen. Snapped to `step`; null where the way cannot be told from this view.
 */
export function shiftBetween(
  first: Ray,
  second: Ray,
  grip: Vec3,
  view: Vec3,
  way: Way,
  step: number,
): Vec3 | null {
  if (way === "free") {
    const [start, end] = [meets(first, grip, view), meets(second, grip, view)];
    if (!start || !end) return null;
    const moved = subtract(end, start);
    return [snapped(moved[0], step), snapped(moved[1], step), snapped(moved[2], step)];
  }
  const axis = AXES[way];
  const [start, end] = [closestAlong(first, grip, axis), closestAlong(second, grip, axis)];
  if (start === null || end === null) return null;
  return scaled(axis, snapped(end - start, step));
}
