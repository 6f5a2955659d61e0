// @vitest-environment node
import { describe, expect, it } from "vitest";
import type { Curve, View } from "./document";
import { fromLine, nearest, snapped, targets } from "./snap";

const lower: Curve = {
  name: "lower edge",
  role: "lower",
  body: "",
  points: [
    [10, 100],
    [50, 120],
    [90, 100],
  ],
  corners: [],
};
const side: View = {
  name: "side",
  kind: "side",
  picture: "plan.png",
  level: { from: [0, 80], to: [100, 80] },
  curve: [{ ...lower, name: "upper edge", role: "upper", points: [] }, lower],
};

describe("a point that is set", () => {
  const aims = targets(side, 0, null);

  it("catches on the ends of other lines, not on their middles", () => {
    expect(snapped([13, 96], aims, 6)).toEqual({ place: [10, 100], on: "end of lower edge" });
    expect(snapped([51, 121], aims, 6)).toEqual({ place: [51, 121], on: "" });
  });

  it("catches on the level line, square to it", () => {
    expect(snapped([42, 84], aims, 6)).toEqual({ place: [42, 80], on: "the level line" });
  });

  it("stays where it is beyond reach, and off its own line", () => {
    expect(snapped([42, 90], aims, 6).on).toBe("");
    expect(targets(side, 1, 0).points).toEqual([]);
  });

  it("takes an end before a line, though the line is nearer", () => {
    const near = { points: [{ place: [0, 0] as [number, number], what: "end" }], lines: aims.lines };
    expect(snapped([3, 79], { ...near, lines: [{ from: [0, 3], to: [9, 3], what: "line" }] }, 90).on).toBe(
      "end",
    );
  });

  it("catches on the axis of a section: square to its level line, through the keel", () => {
    const section: View = {
      name: "450",
      kind: "section",
      picture: "plan.png",
      level: { from: [100, 60], to: [20, 60] },
      curve: [{ name: "section", role: "section", body: "", points: [[60, 100]], corners: [] }],
    };
    const found = snapped([63, 20], targets(section, 0, null), 6);
    expect(found.on).toBe("the axis");
    expect(found.place[0]).toBeCloseTo(60);
    expect(found.place[1]).toBeCloseTo(20);
  });
});

describe("the hand", () => {
  it("takes the nearest point within reach", () => {
    expect(nearest(lower.points, [52, 118], 10)).toBe(1);
    expect(nearest(lower.points, [52, 60], 10)).toBeNull();
    expect(nearest([], [0, 0], 10)).toBeNull();
  });

  it("finds the foot on a drawn line", () => {
    const found = fromLine([0, 0, 100, 0, 100, 50], [40, 3]);
    expect(found.foot).toEqual([40, 0]);
    expect(found.away).toBe(3);
    expect(fromLine([], [1, 1]).away).toBe(Infinity);
  });
});
