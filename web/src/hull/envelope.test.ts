import { describe, expect, it } from "vitest";
import { boundsOf, envelope } from "./envelope";

/** A flat triangle in x and z: base 4 along x, peak 2 high over x = 1. */
const TRIANGLE = {
  positions: Float32Array.from([0, 0, 0, 4, 0, 0, 1, 5, 2]),
  indices: Uint32Array.from([0, 1, 2]),
};

describe("the outline of a mesh", () => {
  it("follows the edges, with the peak where the corner is", () => {
    const ring = envelope(TRIANGLE, 0, 2, 4);
    // Places at x = 0, 1, 2, 3, 4; over the base line the right edge falls from 2 at x = 1 to 0 at x = 4.
    const over = ring.slice(0, 5);
    expect(over.map(([x]) => x)).toEqual([0, 1, 2, 3, 4]);
    over.forEach(([, z], place) => expect(z).toBeCloseTo([0, 2, 4 / 3, 2 / 3, 0][place] ?? NaN, 6));
    expect(ring.slice(5).map(([, z]) => z)).toEqual([0, 0, 0, 0, 0]);
  });

  it("keeps a mast that stands between two places", () => {
    const mast = {
      positions: Float32Array.from([0, 0, 0, 10, 0, 0, 5.2, 0, 3]),
      indices: Uint32Array.from([0, 1, 2]),
    };
    expect(Math.max(...envelope(mast, 0, 2, 10).map(([, z]) => z))).toBe(3);
  });

  it("is empty for a mesh without extent", () => {
    expect(envelope({ positions: new Float32Array(9), indices: Uint32Array.from([0, 1, 2]) }, 0, 2)).toEqual(
      [],
    );
  });

  it("knows the box of all points", () => {
    expect(boundsOf(TRIANGLE.positions)).toEqual({ low: [0, 0, 0], high: [4, 5, 2] });
  });
});
