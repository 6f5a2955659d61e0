import { describe, expect, it } from "vitest";
import {
  DIRECTIONS,
  endForEnd,
  likelyLie,
  rolled,
  turnedPoints,
  upsFor,
  upsideDown,
  withBow,
  type Lie,
} from "./turn";

const EVERY: Lie[] = DIRECTIONS.flatMap((bow) => upsFor(bow).map((up) => ({ bow, up })));

function determinant(m: Float32Array): number {
  const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0, i = 0] = m;
  return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
}

describe("how a file lies in the boat", () => {
  it("leaves a file alone that is drawn as the house is", () => {
    expect([...turnedPoints([1, 2, 3], { bow: "+x", up: "+z" })]).toEqual([1, 2, 3]);
  });

  it("turns a hull that was drawn standing on its stern, deck to -y", () => {
    // Forward is file z, up is file -y, so port (up x bow) is -y x z = -x.
    expect([...turnedPoints([1, 2, 3], { bow: "+z", up: "-y" })]).toEqual([3, -1, -2]);
  });

  it("is a turn for every choice: it mirrors nothing", () => {
    expect(EVERY).toHaveLength(24);
    for (const lie of EVERY) {
      expect(determinant(turnedPoints([1, 0, 0, 0, 1, 0, 0, 0, 1], lie))).toBeCloseTo(1, 12);
    }
  });

  it("comes back after two half turns or four quarter rolls", () => {
    for (const lie of EVERY) {
      expect(endForEnd(endForEnd(lie))).toEqual(lie);
      expect(upsideDown(upsideDown(lie))).toEqual(lie);
      expect(rolled(rolled(rolled(rolled(lie))))).toEqual(lie);
      expect(rolled(rolled(lie))).toEqual(upsideDown(lie));
      expect(rolled(lie)).not.toEqual(lie);
    }
  });

  it("never lays bow and up along one axis", () => {
    for (const lie of EVERY) {
      for (const bow of DIRECTIONS) {
        const next = withBow(lie, bow);
        expect(next.bow).toBe(bow);
        expect(upsFor(bow)).toContain(next.up);
      }
    }
  });

  it("guesses the bow along the longest axis", () => {
    expect(likelyLie("x")).toEqual({ bow: "+x", up: "+z" });
    expect(likelyLie("z")).toEqual({ bow: "+z", up: "+y" });
  });
});
