import { describe, expect, it } from "vitest";
import type { AdviceOut } from "../frame/shapes";
import {
  addOpening,
  adviceOn,
  keyOf,
  moveOpening,
  openingsOf,
  removeOpening,
  setMarks,
  sizeOpening,
  writeMass,
  writing,
  type Path,
} from "./entries";

function reading(file: unknown) {
  return (path: Path): unknown => {
    let value = file;
    for (const key of path) value = (value as Record<string | number, unknown> | null | undefined)?.[key];
    return value ?? null;
  };
}

const TWO = {
  hull: {
    skin: { thickness: "1.8 mm", mass: { value: "652 g", known: "measured" } },
    openings: [
      { at: ["120 mm", 0, "6 mm"], area: "60 mm^2" },
      { at: ["420 mm", 0, "1 mm"], area: "0.1 in^2" },
    ],
  },
};

function fault(key: string): AdviceOut {
  return { what: "w", todo: "t", where: "", key, given: "", allowed: "", severity: "error" };
}

describe("entries of the hull", () => {
  it("names rows as the advice does, from 1", () => {
    expect(keyOf(["hull", "openings", 0, "at", 2])).toBe("hull.openings[1].at[3]");
  });

  it("gives each field its own advice, and none of a neighbour with a longer name", () => {
    const advice = [
      fault("hull.skin.thickness"),
      fault("hull.openings[1].area"),
      fault("hull.openings[11].area"),
    ];
    expect(adviceOn(["hull", "openings", 0], advice)).toEqual([advice[1]]);
    expect(adviceOn(["hull"], advice, [["hull", "openings"]])).toEqual([advice[0]]);
  });

  it("writes what was typed with what stood there, and drops what was emptied", () => {
    const path: Path = ["hull", "skin", "thickness"];
    expect(writing("Thickness", path, " 0.07 in ", reading(TWO))).toEqual({
      what: "Thickness: 0.07 in",
      ops: [{ op: "put", path, value: "0.07 in", was: "1.8 mm" }],
    });
    expect(writing("Thickness", path, "", reading(TWO))?.ops).toEqual([{ op: "drop", path }]);
    expect(writing("Thickness", path, "1.8 mm", reading(TWO))).toBeNull();
  });

  it("keeps how a mass is known, and calls a first one weighed", () => {
    expect(writeMass("23 oz", reading(TWO))?.ops).toEqual([
      { op: "put", path: ["hull", "skin", "mass", "value"], value: "23 oz", was: "652 g" },
    ]);
    expect(writeMass("23 oz", reading({ hull: {} }))?.ops).toEqual([
      { op: "put", path: ["hull", "skin", "mass"], value: { value: "23 oz", known: "weighed" }, was: null },
    ]);
    expect(writeMass("", reading(TWO))?.ops).toEqual([{ op: "drop", path: ["hull", "skin", "mass"] }]);
  });

  it("reads, moves and sizes openings in the units they are typed in", () => {
    expect(openingsOf(reading(TWO))[1]).toEqual({ at: ["420 mm", "0", "1 mm"], area: "0.1 in^2" });
    expect(moveOpening(1, 1, "-1/4 in", reading(TWO))?.ops).toEqual([
      { op: "put", path: ["hull", "openings", 1, "at", 1], value: "-1/4 in", was: 0 },
    ]);
    expect(moveOpening(1, 0, "0", reading(TWO))?.ops[0]).toMatchObject({ value: 0, was: "420 mm" });
    expect(moveOpening(1, 0, " ", reading(TWO))).toBeNull();
    expect(sizeOpening(0, "60 mm^2", reading(TWO))).toBeNull();
  });

  it("adds behind the last, or begins the list", () => {
    const fresh = { at: ["1 in", "0", "4 mm"] as [string, string, string], area: " 50 mm^2 " };
    const value = { at: ["1 in", 0, "4 mm"], area: "50 mm^2" };
    expect(addOpening(fresh, reading(TWO)).ops).toEqual([
      { op: "put", path: ["hull", "openings", 2], value, was: null },
    ]);
    expect(addOpening(fresh, reading({ hull: {} })).ops).toEqual([
      { op: "put", path: ["hull", "openings"], value: [value], was: null },
    ]);
  });

  it("removes one, and the list with the last", () => {
    expect(removeOpening(0, reading(TWO)).ops).toEqual([{ op: "drop", path: ["hull", "openings", 0] }]);
    const one = { hull: { openings: [TWO.hull.openings[0]] } };
    expect(removeOpening(0, reading(one)).ops).toEqual([{ op: "drop", path: ["hull", "openings"] }]);
  });

  it("sets both marks in one step", () => {
    expect(setMarks("0", "31 in").ops).toEqual([
      { op: "put", path: ["hull", "marks"], value: { bow: 0, stern: "31 in" }, was: null },
    ]);
  });
});
