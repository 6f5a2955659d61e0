import { describe, expect, it } from "vitest";
import { endsOf, lineOf, scaleOf } from "./curve";

describe("curves over the water inside", () => {
  it("spans all that is there and always 0", () => {
    expect(endsOf([3, null, 5], [null, 2])).toEqual([0, 5]);
    expect(endsOf([-7, null], [4])).toEqual([-7, 4]);
    expect(endsOf([], [null])).toEqual([0, 0]);
  });

  it("has round ticks within its ends, with a true minus", () => {
    const scale = scaleOf(-20, 60, 100, 0, 4);
    expect(scale.ticks.map((tick) => tick.text)).toEqual(["−20", "0", "20", "40", "60"]);
    expect(scale.ticks.map((tick) => tick.at)).toEqual([100, 75, 50, 25, 0]);
    expect(scale.at(20)).toBe(50);
  });

  it("stops where a value is missing and begins anew", () => {
    const same = (value: number): number => value;
    expect(lineOf([0, 1, 2, 3, 4], [5, 6, null, 7, 8], same, same)).toBe("M0.0 5.0L1.0 6.0M3.0 7.0L4.0 8.0");
    expect(lineOf([0, 1], [null, null], same, same)).toBe("");
  });
});
