// @vitest-environment node
import { describe, expect, it } from "vitest";
import { spread } from "./tags";

describe("spread", () => {
  it("leaves tags where they are wanted when there is room", () => {
    expect(spread([10, 100, 50], 20, 0, 200)).toEqual([10, 100, 50]);
  });

  it("moves two that touch apart by the same way", () => {
    // Wanted 2 apart round 51, gap 20: 51 - 10 and 51 + 10.
    expect(spread([50, 52], 20, 0, 200)).toEqual([41, 61]);
  });

  it("keeps the order and the gap, whatever is wanted", () => {
    const wanted = [5, 6, 7, 120, 121, 60];
    const placed = spread(wanted, 15, 0, 300);
    const order = wanted.map((_, index) => index).sort((a, b) => (wanted[a] ?? 0) - (wanted[b] ?? 0));
    for (let rank = 1; rank < order.length; rank += 1) {
      const [left, right] = [placed[order[rank - 1] ?? 0] ?? 0, placed[order[rank] ?? 0] ?? 0];
      expect(right - left).toBeGreaterThanOrEqual(15 - 1e-9);
    }
  });

  it("stays within the line where they fit", () => {
    const placed = spread([198, 199, 200], 20, 0, 200);
    // Three tags 20 apart against the right end: 160, 180, 200.
    expect(placed).toEqual([160, 180, 200]);
  });

  it("has nothing to place for nothing", () => {
    expect(spread([], 20, 0, 100)).toEqual([]);
  });
});
