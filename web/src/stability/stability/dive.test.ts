import { describe, expect, it } from "vitest";
import type { FrameOut } from "../../frame/shapes";
import { toWorld, type Pose, type Vec3 } from "../../scene/vectors";
import { blended, Dive, frameAt, overBetween, pictureAt } from "./dive";

const MIDDLE: Vec3 = [0.4, 0, 0.05];

/** Heeled about the lengthwise line through the middle, which lies `depth` under water. */
function heeled(degrees: number, depth: number): Pose {
  const [c, s] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  const turn = [1, 0, 0, 0, 0, c, s, 0, 0, -s, c, 0];
  const [x, y, z] = toWorld([...turn, 0, 0, 0, 1], MIDDLE);
  return [...turn, MIDDLE[0] - x, MIDDLE[1] - y, -depth - z, 1];
}

function frame(at: number, pose: Pose, went_over = false): FrameOut {
  return {
    at,
    progress: at,
    pose: [...pose],
    went_over,
    under: false,
    note: went_over ? "She goes over" : "",
    waters: [],
  };
}

const FRAMES = [
  frame(0, heeled(0, 0)),
  frame(0.5, heeled(10, 0.02)),
  frame(0.6, heeled(12, 0.03)),
  frame(0.6000001, heeled(170, 0.04), true),
  frame(1, heeled(180, 0.05)),
];

function close(pose: Pose, wanted: Pose): void {
  pose.forEach((entry, index) => expect(entry).toBeCloseTo(wanted[index] ?? NaN, 9));
}

describe("passage between two poses", () => {
  it("turns evenly about the middle, which moves straight", () => {
    // closed form: half of a turn about one line is half of its angle
    close(blended(heeled(0, 0), heeled(10, 0.02), 0.5, MIDDLE), heeled(5, 0.01));
    close(blended(heeled(-39, 0), heeled(50, 0.04), 0.25, MIDDLE), heeled(-16.75, 0.01));
  });

  it("gives the ends as they are, even keel up", () => {
    expect(blended(heeled(3, 0), heeled(180, 0), 0, MIDDLE)).toEqual(heeled(3, 0));
    close(blended(heeled(179, 0), heeled(-179, 0), 0.5, MIDDLE), heeled(180, 0));
  });
});

describe("pictures along the way", () => {
  it("finds the last frame that was passed", () => {
    expect([0, 0.49, 0.5, 0.9, 1, 2].map((at) => frameAt(FRAMES, at))).toEqual([0, 0, 1, 3, 4, 4]);
  });

  it("glides between frames, but stands still before she goes over", () => {
    close(pictureAt(FRAMES, 0.25, MIDDLE)?.pose ?? [], heeled(5, 0.01));
    expect(pictureAt(FRAMES, 0.60000005, MIDDLE)?.pose).toEqual(heeled(12, 0.03));
    expect(pictureAt([], 0.3, MIDDLE)).toBeNull();
  });

  it("says what lies between two places, forwards only", () => {
    expect(overBetween(FRAMES, 0.5, 0.7)).toBe(3);
    expect(overBetween(FRAMES, 0.7, 0.5)).toBeNull();
    expect(overBetween(FRAMES, 0.61, 1)).toBeNull();
  });
});

describe("tank water", () => {
  const bytes = new ArrayBuffer(12 + 48);
  new Float32Array(bytes, 12, 9).set([0, 0, 0, 1, 0, 0, 0, 1, 0]);
  new Uint32Array(bytes, 48, 3).set([0, 1, 2]);
  const place = {
    key: "tank[1]",
    share: 0.5,
    amount: "9 ml",
    mesh: { offset: 12, vertices: 3, triangles: 1 },
  };

  it("is read from where the dive says, once", () => {
    const dive = new Dive({ revision: 1, frames: [{ ...frame(0, heeled(0, 0)), waters: [place] }] }, bytes);
    const [water] = dive.waters(0);
    expect(water?.water.indices).toEqual([0, 1, 2]);
    expect(water?.water.positions).toEqual([0, 0, 0, 1, 0, 0, 0, 1, 0]);
    expect(dive.waters(0)).toBe(dive.waters(0));
  });

  it("is refused where the bytes end too soon", () => {
    const short = { ...place, mesh: { offset: 36, vertices: 3, triangles: 1 } };
    const dive = new Dive({ revision: 1, frames: [{ ...frame(0, heeled(0, 0)), waters: [short] }] }, bytes);
    expect(() => dive.waters(0)).toThrow(RangeError);
  });
});
