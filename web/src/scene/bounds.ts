/** The box that holds all that is drawn. */

import type { Body } from "../frame/shapes";
import type { Vec3 } from "./vectors";

export interface Bounds {
  low: Vec3;
  high: Vec3;
}

/** The box about every body; of a metre about the house zero where there is none. */
export function boundsOf(bodies: readonly Pick<Body, "low_m" | "high_m">[]): Bounds {
  if (bodies.length === 0) return { low: [0, -0.5, 0], high: [1, 0.5, 1] };
  const ends = (axis: 0 | 1 | 2): [number, number] => [
    Math.min(...bodies.map((body) => body.low_m[axis])),
    Math.max(...bodies.map((body) => body.high_m[axis])),
  ];
  const [x, y, z] = [ends(0), ends(1), ends(2)];
  return { low: [x[0], y[0], z[0]], high: [x[1], y[1], z[1]] };
}
