import { expect, it } from "vitest";
import { boundsOf } from "./bounds";

it("holds every body, and nothing more", () => {
  const bounds = boundsOf([
    { low_m: [0, -1, 0], high_m: [5, 1, 1] },
    { low_m: [4, 0, -0.5], high_m: [6, 0.5, 0.5] },
  ]);
  expect(bounds).toEqual({ low: [0, -1, -0.5], high: [6, 1, 1] });
});

it("has room even where nothing is drawn", () => {
  const { low, high } = boundsOf([]);
  low.forEach((value, axis) => expect(value).toBeLessThan(high[axis] ?? NaN));
});
