import { describe, expect, it } from "vitest";
import type { ValueAt } from "../../hull/entries";
import { addKeepOut, floodedParts, keepOutsOf, setMoves } from "./keep_free";

const FILE: Record<string, unknown> = {
  part: [
    { name: "cylinder", kind: "dry" },
    { name: "servo", kind: "inside", inside: "cylinder" },
    { name: "shaft", kind: "solid", moves: "4 mm" },
    { name: "lead 1", kind: "lead", from: "trim" },
  ],
  keep_out: [
    { name: "hatch", low: ["1 mm", 0, 0], high: ["9 mm", "2 mm", "3 mm"] },
    { name: "hand", at: ["50 mm", 0, 0], size: ["9 mm", "2 mm", "3 mm"] },
  ],
};
const valueAt: ValueAt = ([key]) => FILE[String(key)] ?? null;

describe("what must stay free", () => {
  it("names the parts of the flooded space alone", () => {
    expect(floodedParts(valueAt)).toEqual([
      { row: 0, name: "cylinder", moves: "" },
      { row: 2, name: "shaft", moves: "4 mm" },
    ]);
  });

  it("says where each keep-out is, however it was given", () => {
    expect(keepOutsOf(valueAt).map((one) => one.where)).toEqual([
      "from 1 mm, 0, 0 to 9 mm, 2 mm, 3 mm",
      "9 mm, 2 mm, 3 mm round 50 mm, 0, 0",
    ]);
  });

  it("writes, changes and takes away what moves", () => {
    const shaft = { row: 2, name: "shaft", moves: "4 mm" };
    expect(setMoves(shaft, " 4 mm ")).toBeNull();
    expect(setMoves(shaft, "")?.ops).toEqual([{ op: "drop", path: ["part", 2, "moves"] }]);
    expect(setMoves(shaft, "1/4 in")?.ops).toEqual([
      { op: "put", path: ["part", 2, "moves"], value: "1/4 in", was: "4 mm", row_name: "shaft" },
    ]);
  });

  it("writes a bare zero without a unit", () => {
    const change = addKeepOut({ name: " way ", low: ["1 mm", "0", "2 mm"], high: ["9 mm", "3 mm", "4 mm"] });
    expect(change.ops).toEqual([
      {
        op: "add row",
        table: "keep_out",
        values: { name: "way", low: ["1 mm", 0, "2 mm"], high: ["9 mm", "3 mm", "4 mm"] },
      },
    ]);
  });
});
