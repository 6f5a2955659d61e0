import { describe, expect, it } from "vitest";
import { axisTicks, span, spread } from "./axis";

describe("axes", () => {
  it("hold zero and every value", () => {
    const [low, high] = span([12, 3.5], 1);
    expect(low).toBe(0);
    expect(high).toBeGreaterThan(12);
    const [under] = span([-4, 2], 1);
    expect(under).toBeLessThan(-4);
  });

  it("are never of no width", () => {
    const [low, high] = span([0, 0], 2);
    expect(high - low).toBeGreaterThanOrEqual(2);
  });

  it("have round ticks with a true minus", () => {
    expect(axisTicks([-2.4, 5.1], 2).map((tick) => tick.text)).toEqual(["−2", "0", "2", "4"]);
  });

  it("keep labels apart in their order", () => {
    expect(spread([10, 12, 60], 16)).toEqual([10, 26, 60]);
  });
});
