import { describe, expect, it } from "vitest";
import { snapped, valueOf, withPoint, withStep, withoutPoint, type Flat } from "./points";

const LOW: Flat = [0, 0];
const HIGH: Flat = [0.9, 0.1];
const LINE: Flat[] = [
  [0, 0.06],
  [0.3, 0.06],
  [0.3, 0.075],
  [0.9, 0.075],
];

describe("the points of a break line", () => {
  it("moves a point no farther than its neighbours and the hull", () => {
    expect(withPoint(LINE, 1, [0.5, 0.2], LOW, HIGH, 0.001)[1]).toEqual([0.3, 0.099]);
    expect(withPoint(LINE, 0, [-1, -1], LOW, HIGH, 0.001)[0]).toEqual([0, 0.001]);
    expect(withPoint(LINE, 3, [0.1, 0.05], LOW, HIGH, 0.001)[3]).toEqual([0.3, 0.05]);
  });

  it("steps up in the middle of its longest stretch", () => {
    expect(
      withStep(
        [
          [0, 0.06],
          [0.9, 0.06],
        ],
        0.01,
      ).map(([x, z]) => [x, Number(z.toFixed(6))]),
    ).toEqual([
      [0, 0.06],
      [0.45, 0.06],
      [0.45, 0.07],
      [0.9, 0.07],
    ]);
  });

  it("keeps at least two points", () => {
    expect(withoutPoint(LINE, 1)).toHaveLength(3);
    expect(withoutPoint(LINE.slice(0, 2), 1)).toHaveLength(2);
  });

  it("keeps to the builder's own ruler", () => {
    // From the bow at 0.9 m aft in whole millimetres: 0.9 - 0.4234 = 476.6 mm, so 477 mm.
    expect(0.9 - snapped(0.4234, 0.9, 0.001)).toBeCloseTo(0.477, 9);
  });

  it("writes a level line over the whole length as one height", () => {
    const level: Flat[] = [
      [0, 0.06],
      [0.9, 0.06],
    ];
    const texts = [
      ["0 mm", "60 mm"],
      ["900 mm", "60 mm"],
    ];
    expect(valueOf(texts, level, 0.9)).toBe("60 mm");
    expect(valueOf(texts, [level[0] as Flat, [0.8, 0.06]], 0.9)).toEqual(texts);
  });
});
