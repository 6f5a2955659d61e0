/** The dive as pictures: which one stands at a place, a smooth passage between two of them, and the tank water's meshes. */

import type { DiveOut, FrameOut, TankWaterOut } from "../../frame/shapes";
import { add, scaled, subtract, toWorld, type Pose, type Vec3 } from "../../scene/vectors";

export interface Picture {
  pose: Pose;
  frame: FrameOut;
  index: number;
}

/** The last frame at or before a place. */
export function frameAt(frames: readonly FrameOut[], at: number): number {
  let [low, high] = [0, frames.length - 1];
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if ((frames[middle]?.at ?? Infinity) <= at) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** How she is drawn at a place; between two frames smoothly, but never through a going over. */
export function pictureAt(frames: readonly FrameOut[], at: number, middle: Vec3): Picture | null {
  const index = frameAt(frames, at);
  const [here, next] = [frames[index], frames[index + 1]];
  if (!here) return null;
  if (!next || next.went_over || next.at <= here.at) return { pose: here.pose, frame: here, index };
  const share = Math.min(1, Math.max(0, (at - here.at) / (next.at - here.at)));
  return { pose: blended(here.pose, next.pose, share, middle), frame: here, index };
}

/** The frame that she goes over into on the way from one place on to another; null where she does not. */
export function overBetween(frames: readonly FrameOut[], from: number, to: number): number | null {
  const found = frames.findIndex((frame) => frame.went_over && frame.at > from && frame.at <= to);
  return found < 0 ? null : found;
}

/** Between two poses: the turn along the shortest way, and the middle of the boat straight from place to place. */
export function blended(from: Pose, to: Pose, share: number, middle: Vec3): Pose {
  if (share <= 0) return from;
  if (share >= 1) return to;
  const turn = matrixOf(between(quaternionOf(from), quaternionOf(to), share));
  const [start, end] = [toWorld(from, middle), toWorld(to, middle)];
  const wanted = add(start, scaled(subtract(end, start), share));
  const turned = [...turn.slice(0, 3), 0, ...turn.slice(3, 6), 0, ...turn.slice(6, 9), 0, 0, 0, 0, 1];
  const shift = subtract(wanted, toWorld(turned, middle));
  return [...turned.slice(0, 12), ...shift, 1];
}

type Quaternion = readonly [number, number, number, number];

/** x, y, z, w of the turn in a pose; the largest of the four is found first, so that none is lost to rounding. */
function quaternionOf(pose: Pose): Quaternion {
  const e = (row: number, column: number) => pose[4 * column + row] ?? 0;
  const [xx, yy, zz] = [e(0, 0), e(1, 1), e(2, 2)];
  const squares = [1 + xx - yy - zz, 1 - xx + yy - zz, 1 - xx - yy + zz, 1 + xx + yy + zz];
  const largest = squares.indexOf(Math.max(...squares));
  const twice = Math.sqrt(Math.max(squares[largest] ?? 0, 1e-12));
  const products = {
    xy: e(0, 1) + e(1, 0),
    xz: e(0, 2) + e(2, 0),
    yz: e(1, 2) + e(2, 1),
    xw: e(2, 1) - e(1, 2),
    yw: e(0, 2) - e(2, 0),
    zw: e(1, 0) - e(0, 1),
  };
  const { xy, xz, yz, xw, yw, zw } = products;
  const rows = [
    [twice * twice, xy, xz, xw],
    [xy, twice * twice, yz, yw],
    [xz, yz, twice * twice, zw],
    [xw, yw, zw, twice * twice],
  ];
  const [x = 0, y = 0, z = 0, w = 1] = (rows[largest] ?? []).map((one) => one / (2 * twice));
  return [x, y, z, w];
}

function between(from: Quaternion, to: Quaternion, share: number): Quaternion {
  let cosine = from.reduce((sum, one, index) => sum + one * (to[index] ?? 0), 0);
  const sign = cosine < 0 ? -1 : 1;
  cosine = Math.min(1, cosine * sign);
  const angle = Math.acos(cosine);
  const sine = Math.sin(angle);
  const [a, b] =
    sine < 1e-6
      ? [1 - share, share * sign]
      : [Math.sin((1 - share) * angle) / sine, (Math.sin(share * angle) / sine) * sign];
  const mixed = from.map((one, index) => a * one + b * (to[index] ?? 0));
  const size = Math.hypot(...mixed);
  const [x = 0, y = 0, z = 0, w = 1] = mixed.map((one) => one / size);
  return [x, y, z, w];
}

/** The three columns of a turn, one after the other. */
function matrixOf([x, y, z, w]: Quaternion): number[] {
  return [
    1 - 2 * (y * y + z * z),
    2 * (x * y + z * w),
    2 * (x * z - y * w),
    2 * (x * y - z * w),
    1 - 2 * (x * x + z * z),
    2 * (y * z + x * w),
    2 * (x * z + y * w),
    2 * (y * z - x * w),
    1 - 2 * (x * x + y * y),
  ];
}

/** The dive with its meshes at hand. */
export class Dive {
  readonly #waters = new Map<number, TankWaterOut[]>();

  constructor(
    readonly out: DiveOut,
    readonly bytes: ArrayBuffer,
  ) {}

  get frames(): readonly FrameOut[] {
    return this.out.frames;
  }

  /** The water in her tanks in a frame. Throws where the bytes are not those of this dive. */
  waters(index: number): readonly TankWaterOut[] {
    const known = this.#waters.get(index);
    if (known) return known;
    const found = (this.frames[index]?.waters ?? []).map(({ key, share, amount, mesh }) => {
      if (!mesh) return { key, share, amount, water: { positions: [], indices: [] } };
      const cornersAt = mesh.offset + 12 * mesh.vertices;
      if (cornersAt + 12 * mesh.triangles > this.bytes.byteLength) {
        throw new RangeError(`The tank water ends at byte ${this.bytes.byteLength}.`);
      }
      return {
        key,
        share,
        amount,
        water: {
          positions: [...new Float32Array(this.bytes, mesh.offset, 3 * mesh.vertices)],
          indices: [...new Uint32Array(this.bytes, cornersAt, 3 * mesh.triangles)],
        },
      };
    });
    this.#waters.set(index, found);
    return found;
  }
}
