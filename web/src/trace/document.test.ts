// @vitest-environment node
import { describe, expect, it } from "vitest";
import {
  cornered,
  inOrder,
  inserted,
  marked,
  moved,
  reversed,
  slotFor,
  turnedRound,
  whole,
  without,
  type Curve,
  type Place,
  type View,
} from "./document";

const line = (...points: Place[]): Curve => ({
  name: "upper edge",
  role: "upper",
  body: "",
  points,
  corners: [],
});
const side = (curve: Curve, bow: "left" | "right" = "right"): View => ({
  name: "side",
  kind: "side",
  picture: "plan.png",
  bow,
  curve: [curve],
});

describe("a new point", () => {
  const points: Place[] = [
    [0, 0],
    [100, 10],
    [200, 0],
  ];

  it("goes where it lengthens the way least, whatever the order of the taps", () => {
    expect(slotFor([], [5, 5])).toBe(0);
    expect(slotFor([[0, 0]], [5, 5])).toBe(1);
    expect(slotFor(points, [-30, 0])).toBe(0);
    expect(slotFor(points, [50, 7])).toBe(1);
    expect(slotFor(points, [150, 6])).toBe(2);
    expect(slotFor(points, [240, 0])).toBe(3);
  });

  it("leaves corners at their own points", () => {
    const curve = { ...line(...points), corners: [1] };
    const [before] = inserted(curve, [50, 7]);
    expect(before.points[2]).toEqual([100, 10]);
    expect(before.corners).toEqual([2]);
    const [behind] = inserted(curve, [150, 6]);
    expect(behind.corners).toEqual([1]);
  });
});

describe("a curve", () => {
  const curve = { ...line([0, 0], [1, 1], [2, 0], [3, 1]), corners: [1, 2] };

  it("loses a point with its corner; later corners move up", () => {
    expect(without(curve, 1)).toEqual({ ...line([0, 0], [2, 0], [3, 1]), corners: [1] });
    expect(without(curve, 0).corners).toEqual([0, 1]);
  });

  it("moves one point and leaves the old curve as it was", () => {
    expect(moved(curve, 3, [9, 9]).points[3]).toEqual([9, 9]);
    expect(curve.points[3]).toEqual([3, 1]);
  });

  it("gets a corner and loses it again", () => {
    expect(cornered(curve, 3).corners).toEqual([1, 2, 3]);
    expect(cornered(curve, 2).corners).toEqual([1]);
  });

  it("turned round twice is the same", () => {
    expect(reversed(curve).corners).toEqual([1, 2]);
    expect(reversed(reversed({ ...curve, corners: [1] }))).toEqual({ ...curve, corners: [1] });
  });

  it("runs from stern to bow, and a section from keel to top", () => {
    const back = line([100, 0], [0, 0]);
    expect(inOrder(back, side(back)).points[0]).toEqual([0, 0]);
    expect(inOrder(back, side(back, "left")).points[0]).toEqual([100, 0]);
    const down: Curve = { ...line([0, 0], [0, 80]), role: "section" };
    const section: View = { name: "s", kind: "section", picture: "", curve: [down] };
    // y counts downwards on the picture, so the keel is the point with the greater one.
    expect(inOrder(down, section).points[0]).toEqual([0, 80]);
    // The level line says better than the side of the sheet where the bow is.
    const level = { ...side(back), level: { from: [50, 0] as Place, to: [0, 0] as Place } };
    expect(inOrder(back, level).points[0]).toEqual([100, 0]);
  });
});

describe("marks", () => {
  const view = side(line());

  it("lead to the bow when they are level lines, whichever end was set first", () => {
    expect(marked(view, "level", [90, 5], [10, 5]).level).toEqual({ from: [10, 5], to: [90, 5] });
    expect(marked({ ...view, bow: "left" }, "level", [90, 5], [10, 5]).level).toEqual({
      from: [90, 5],
      to: [10, 5],
    });
    const section: View = { ...view, kind: "section" };
    expect(marked(section, "level", [90, 5], [10, 5]).level).toEqual({ from: [90, 5], to: [10, 5] });
  });

  it("keep their length when they are set anew", () => {
    const scaled = { ...view, scale: { from: [0, 0] as Place, to: [1, 0] as Place, length: "11 3/4 in" } };
    expect(marked(scaled, "scale", [5, 5], [80, 5]).scale).toEqual({
      from: [5, 5],
      to: [80, 5],
      length: "11 3/4 in",
    });
  });

  it("turn round with their curves when the bow is on the other side", () => {
    const there = { ...side(line([0, 0], [9, 1])), level: { from: [0, 5] as Place, to: [9, 5] as Place } };
    const turned = turnedRound(there, "left");
    expect(turned.level).toEqual({ from: [9, 5], to: [0, 5] });
    expect(turned.curve[0]?.points).toEqual([
      [9, 1],
      [0, 0],
    ]);
    expect(turnedRound(turned, "right")).toEqual(there);
  });
});

it("fills in what the server leaves out", () => {
  const trace = whole({ view: [{ name: "top", kind: "top", curve: [{ role: "half_breadth" }] }] });
  expect(trace.body).toEqual([]);
  expect(trace.view[0]?.curve[0]).toEqual({
    name: "",
    role: "half_breadth",
    body: "",
    points: [],
    corners: [],
  });
});
