/** Small vector arithmetic shared by the 3-D view and the drawings; no state, no library. */

export type Vec3 = readonly [number, number, number];

/** 4 x 4, column by column: house frame [m] to a world with z up and the water's surface at z = 0. */
export type Pose = readonly number[];

export const ORIGIN: Vec3 = [0, 0, 0];

/** The pose of a boat that lies with her keel on the water's surface: nothing turned, nothing sunk. */
export const UPRIGHT: Pose = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

export function add(a: Vec3, b: Vec3): Vec3 {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

export function subtract(a: Vec3, b: Vec3): Vec3 {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

export function scaled(a: Vec3, factor: number): Vec3 {
  return [a[0] * factor, a[1] * factor, a[2] * factor];
}

export function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

export function length(a: Vec3): number {
  return Math.hypot(a[0], a[1], a[2]);
}

export function isZero(a: Vec3): boolean {
  return a[0] === 0 && a[1] === 0 && a[2] === 0;
}

function entry(pose: Pose, index: number): number {
  const value = pose[index];
  if (value === undefined) throw new RangeError(`A pose has 16 numbers, not ${pose.length}.`);
  return value;
}

/** The column of the pose: where the house axis 0, 1, 2 points in the world, or (3) where the house zero lies. */
export function column(pose: Pose, index: 0 | 1 | 2 | 3): Vec3 {
  return [entry(pose, 4 * index), entry(pose, 4 * index + 1), entry(pose, 4 * index + 2)];
}

/** A point of the house frame in the world. */
export function toWorld(pose: Pose, point: Vec3): Vec3 {
  const turned = [0, 1, 2].map((row) =>
    [0, 1, 2].reduce((sum, axis) => sum + entry(pose, 4 * axis + row) * (point[axis as 0 | 1 | 2] ?? 0), 0),
  );
  return add([turned[0] ?? 0, turned[1] ?? 0, turned[2] ?? 0], column(pose, 3));
}

/** A direction of the world in the house frame: a pose only turns and shifts, so its inverse turn is its transpose. */
export function directionToHouse(pose: Pose, direction: Vec3): Vec3 {
  return [dot(column(pose, 0), direction), dot(column(pose, 1), direction), dot(column(pose, 2), direction)];
}

/** The eight corners of a box. */
export function corners(low: Vec3, high: Vec3): Vec3[] {
  const list: Vec3[] = [];
  for (const x of [low[0], high[0]])
    for (const y of [low[1], high[1]]) for (const z of [low[2], high[2]]) list.push([x, y, z]);
  return list;
}

/** The nearest multiple of a step, without the noise of binary fractions. */
export function snapped(value: number, step: number): number {
  const near = Math.round(value / step) * step;
  return near === 0 ? 0 : near;
}
