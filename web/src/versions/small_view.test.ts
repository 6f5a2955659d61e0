import { describe, expect, it } from "vitest";
import type { CompareView } from "../frame/shapes";
import { boxOf, loopsOf } from "./small_view";

function view(length: number, height: number): CompareView {
  return { title: "", outline: [], low_m: [0, 0], high_m: [length, height], water_m: [] };
}

describe("small views", () => {
  it("share one scale", () => {
    const [one, other] = [view(1, 0.1), view(0.5, 0.2)];
    expect(boxOf(one, other).width).toBeCloseTo(1.14);
    expect(boxOf(other, one).width).toBeCloseTo(1.14);
    expect(boxOf(one, other).height).toBeCloseTo(0.34);
    expect(boxOf(one, other).top).toBeCloseTo(-0.27);
  });

  it("stand on their keel", () => {
    expect(
      loopsOf([
        [
          [0, 0],
          [1, 0],
          [1, 0.1],
        ],
      ]),
    ).toBe("M0 0L1 0L1 -0.1Z");
  });
});
