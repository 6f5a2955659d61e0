import { describe, expect, it } from "vitest";
import { keyed, nearest, placeOf, progressOf, stepped, wayOf, wordsOf } from "./way";

const STOPS = [0, 0.5, 1, 1, 1.5, 2].map((at) => ({ at }));

describe("the way down and up", () => {
  it("counts water in going down and out coming up", () => {
    expect([0, 0.25, 1, 1.25, 2].map(progressOf)).toEqual([0, 0.25, 1, 0.75, 0]);
    expect([wayOf(1), wayOf(1.01)]).toEqual(["down", "up"]);
    expect(placeOf("up", progressOf(1.25))).toBe(1.25);
    expect([wordsOf(0.45), wordsOf(1), wordsOf(1.9)]).toEqual([
      "45 % in, going down",
      "100 % in",
      "10 % in, coming up",
    ]);
  });

  it("steps from stop to stop and stays at the ends", () => {
    expect(stepped(STOPS, 0.5, 1)).toBe(1);
    // both stages with full tanks are one place
    expect(stepped(STOPS, 1, 1)).toBe(1.5);
    expect(stepped(STOPS, 0.7, -1)).toBe(0.5);
    expect(stepped(STOPS, 0.5, 9)).toBe(2);
  });

  it("knows its keys and no others", () => {
    expect(keyed("ArrowRight", STOPS, 0)).toBe(0.5);
    expect(keyed("Home", STOPS, 1.5)).toBe(0);
    expect(keyed("End", STOPS, 0)).toBe(2);
    expect(keyed("PageDown", STOPS, 2)).toBe(0);
    expect(keyed("Tab", STOPS, 1)).toBeNull();
  });

  it("finds the nearest stop", () => {
    expect([0.2, 0.3, 1.74, 1.76].map((at) => nearest(STOPS, at))).toEqual([0, 1, 4, 5]);
  });
});
