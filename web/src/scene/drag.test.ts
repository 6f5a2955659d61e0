import { describe, expect, it } from "vitest";
import { closestAlong, meets, rayInHouse, shiftBetween, type Ray } from "./drag";
import { toWorld, UPRIGHT, type Pose, type Vec3 } from "./vectors";

const DOWN: Vec3 = [0, 0, -1];

describe("a ray", () => {
  it("meets the plane of the picture", () => {
    expect(meets({ from: [1, 2, 5], along: DOWN }, [0, 0, 3], [0, 0, 1])).toEqual([1, 2, 3]);
  });

  it("does not meet a plane behind it or along it", () => {
    expect(meets({ from: [0, 0, 1], along: DOWN }, [0, 0, 3], [0, 0, 1])).toBeNull();
    expect(meets({ from: [0, 0, 1], along: [1, 0, 0] }, [0, 0, 0], [0, 0, 1])).toBeNull();
  });

  it("passes an axis closest where a plumb line from it falls", () => {
    // Straight down at x = 2, 1 m beside the axis through the origin.
    expect(closestAlong({ from: [2, 1, 5], along: DOWN }, [0, 0, 0], [1, 0, 0])).toBeCloseTo(2);
  });

  it("says nothing of an axis that it looks along", () => {
    expect(closestAlong({ from: [2, 1, 5], along: DOWN }, [0, 0, 0], [0, 0, 1])).toBeNull();
  });
});

describe("dragging", () => {
  const first: Ray = { from: [0, 0, 5], along: DOWN };
  const second: Ray = { from: [0.0123, 0.0077, 5], along: DOWN };

  it("moves freely in the picture, in whole steps", () => {
    const shift = shiftBetween(first, second, [0, 0, 0], [0, 0, 1], "free", 0.001);
    // 12.3 and 7.7 mm to the nearest millimetre.
    expect(shift?.map((way) => Math.round(way * 1e6))).toEqual([12000, 8000, 0]);
  });

  it("keeps to one way", () => {
    const shift = shiftBetween(first, second, [0, 0, 0], [0, 0, 1], "y", 0.001);
    expect(shift?.map((way) => Math.round(way * 1e6))).toEqual([0, 8000, 0]);
  });

  it("does not guess a way that points at the eye", () => {
    expect(shiftBetween(first, second, [0, 0, 0], [0, 0, 1], "z", 0.001)).toBeNull();
  });

  it("is told in the boat's own frame however she lies", () => {
    // Turned 90 degrees about x (starboard down): port points up, up points to starboard; and sunk by 0.1 m.
    const pose: Pose = [1, 0, 0, 0, 0, 0, 1, 0, 0, -1, 0, 0, 0, 0, -0.1, 1];
    expect(toWorld(pose, [0, 1, 0])).toEqual([0, 0, 0.9]);
    const house = rayInHouse({ from: toWorld(pose, [0.2, 0.3, 0.4]), along: DOWN }, pose);
    house.from.forEach((value, axis) => expect(value).toBeCloseTo([0.2, 0.3, 0.4][axis] ?? NaN));
    // The world's down is starboard for her.
    house.along.forEach((value, axis) => expect(value).toBeCloseTo([0, -1, 0][axis] ?? NaN));
  });

  it("leaves a ray alone that is told in a boat that lies straight", () => {
    expect(rayInHouse(first, UPRIGHT)).toEqual({ from: [0, 0, 5], along: [0, 0, -1] });
  });
});
