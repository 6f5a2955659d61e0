/** Which way a file's axes lie in the boat: bow and up are chosen, the side follows. */

import type { Vec3 } from "../scene/vectors";

export const DIRECTIONS = ["+x", "-x", "+y", "-y", "+z", "-z"] as const;
export type Direction = (typeof DIRECTIONS)[number];

export interface Lie {
  bow: Direction;
  up: Direction;
}

type Axis = "x" | "y" | "z";

export function axisOf(direction: Direction): Axis {
  return direction[1] as Axis;
}

export function opposite(direction: Direction): Direction {
  return `${direction[0] === "+" ? "-" : "+"}${axisOf(direction)}` as Direction;
}

function unit(direction: Direction): Vec3 {
  const size = direction[0] === "+" ? 1 : -1;
  return ["x", "y", "z"].map((axis) => (axis === axisOf(direction) ? size : 0)) as unknown as Vec3;
}

function across(up: Vec3, bow: Vec3): Vec3 {
  return [up[1] * bow[2] - up[2] * bow[1], up[2] * bow[0] - up[0] * bow[2], up[0] * bow[1] - up[1] * bow[0]];
}

/** The direction whose unit vector this is. */
function named(way: Vec3): Direction {
  const found = DIRECTIONS.find((one) => unit(one).every((value, index) => value === (way[index] ?? 0) + 0));
  if (!found) throw new RangeError(`${way.join(", ")} is no axis.`);
  return found;
}

/** Directions that up can have while the bow points this way. */
export function upsFor(bow: Direction): Direction[] {
  return DIRECTIONS.filter((one) => axisOf(one) !== axisOf(bow));
}

/** Along the longest axis, upright where that leaves a choice. */
export function likelyLie(longest: Axis): Lie {
  return { bow: `+${longest}`, up: longest === "z" ? "+y" : "+z" };
}

/** The bow turned to another direction; up gives way where it lay along the same axis. */
export function withBow(lie: Lie, bow: Direction): Lie {
  if (axisOf(bow) !== axisOf(lie.up)) return { bow, up: lie.up };
  return { bow, up: axisOf(lie.bow) === axisOf(bow) ? likelyLie(axisOf(bow)).up : lie.bow };
}

export function endForEnd(lie: Lie): Lie {
  return { bow: opposite(lie.bow), up: lie.up };
}

export function upsideDown(lie: Lie): Lie {
  return { bow: lie.bow, up: opposite(lie.up) };
}

/** A quarter turn about her own length: what was to port comes up. */
export function rolled(lie: Lie): Lie {
  return { bow: lie.bow, up: named(across(unit(lie.up), unit(lie.bow))) };
}

/** Coordinates of the file turned into the house frame: x forward, y to port, z up. */
export function turnedPoints(positions: ArrayLike<number>, lie: Lie): Float32Array {
  const forward = unit(lie.bow);
  const upward = unit(lie.up);
  const rows = [forward, across(upward, forward), upward];
  const turned = new Float32Array(positions.length);
  for (let first = 0; first + 2 < positions.length; first += 3) {
    for (let row = 0; row < 3; row += 1) {
      const way = rows[row] as Vec3;
      turned[first + row] =
        way[0] * (positions[first] ?? 0) +
        way[1] * (positions[first + 1] ?? 0) +
        way[2] * (positions[first + 2] ?? 0);
    }
  }
  return turned;
}
