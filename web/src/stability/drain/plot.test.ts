import { describe, expect, it } from "vitest";
import { marks, pathOf, scaleOf } from "./plot";

describe("curves over time", () => {
  it("holds all values with a little room, and is never flat", () => {
    expect(scaleOf([0, 100], 1)).toEqual({ low: -8, high: 108 });
    expect(scaleOf([3, 3], 2)).toEqual({ low: 2, high: 4 });
    expect(scaleOf([NaN], 2)).toEqual({ low: 0, high: 2 });
  });

  it("marks round values only", () => {
    expect(marks({ low: -0.3, high: 1.1 }, 0.5)).toEqual([0, 0.5, 1]);
  });

  it("leaves out what is no number", () => {
    const same = (value: number): number => value;
    expect(pathOf([0, 1, 2], [5, NaN, 7], same, same)).toBe("M0.0 5.0L2.0 7.0");
  });
});
