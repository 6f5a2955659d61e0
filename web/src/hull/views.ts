/** Side, top and end view on one paper at one scale, the bow to the right. */

import type { Vec3 } from "../scene/vectors";

export type Flat = readonly [number, number];
export type Ring = readonly Flat[];

export interface Dot {
  key: string;
  name: string;
  at: Vec3;
}

export interface Label {
  x: number;
  y: number;
  text: string;
  keys: string[];
}

export interface Paper {
  scale: number;
  width: number;
  height: number;
  side: (x: number, z: number) => Flat;
  end: (y: number, z: number) => Flat;
  top: (x: number, y: number) => Flat;
}

const PAD = 16;
const GAP = 40;
/** Room under a view for its name. */
const NAME = 26;
const TALLEST = 210;
/** Narrower paper has the end view below the others. */
const NARROW = 480;

/** Paper of some width that holds all three views of a box [m]. */
export function paperOf(low: Vec3, high: Vec3, width: number): Paper {
  const [length, beam, height] = [0, 1, 2].map((axis) =>
    Math.max((high[axis as 0 | 1 | 2] ?? 0) - (low[axis as 0 | 1 | 2] ?? 0), 1e-6),
  ) as [number, number, number];
  const stacked = width < NARROW;
  const across = stacked ? length : length + beam;
  const room = width - 2 * PAD - GAP;
  const scale = Math.min(room / across, TALLEST / height, TALLEST / beam);
  const left = PAD + (room - across * scale) / 2;
  const keel = PAD + height * scale;
  const middle = keel + NAME + PAD + high[1] * scale;
  const under = keel + NAME + PAD + beam * scale + NAME;
  const endMiddle = stacked ? width / 2 : left + length * scale + GAP + high[1] * scale;
  const endKeel = stacked ? under + PAD + height * scale : keel;
  return {
    scale,
    width,
    height: stacked ? endKeel + NAME : under,
    side: (x, z) => [left + (x - low[0]) * scale, keel - (z - low[2]) * scale],
    // Seen from astern: port is on the left.
    end: (y, z) => [endMiddle - y * scale, endKeel - (z - low[2]) * scale],
    top: (x, y) => [left + (x - low[0]) * scale, middle - y * scale],
  };
}

/** Path data of closed rings. */
export function pathOf(rings: readonly Ring[], place: (a: number, b: number) => Flat): string {
  return rings
    .filter((ring) => ring.length > 2)
    .map(
      (ring) =>
        `M${ring
          .map(([a, b]) =>
            place(a, b)
              .map((value) => value.toFixed(1))
              .join(" "),
          )
          .join("L")}Z`,
    )
    .join("");
}

/** The dots on the paper; those that fall together share one label. */
export function labelled(dots: readonly Dot[], place: (at: Vec3) => Flat, apart = 12): Label[] {
  const labels: Label[] = [];
  for (const dot of dots) {
    const [x, y] = place(dot.at);
    const near = labels.find((one) => Math.hypot(one.x - x, one.y - y) < apart);
    if (near) {
      near.text += `, ${dot.name}`;
      near.keys.push(dot.key);
    } else labels.push({ x, y, text: dot.name, keys: [dot.key] });
  }
  return labels;
}
