import { expect, it } from "vitest";
import type { Body } from "../frame/shapes";
import { rowOf, shiftOps, typedLength } from "./rows";

it("finds the row of a part or tank, and of nothing else", () => {
  // Keys count from 1, as people do; rows from 0, as the paths of edits do.
  expect(rowOf({ key: "part[13]", row: 12 })).toEqual({ table: "part", row: 12 });
  expect(rowOf({ key: "tank[1]", row: 0 })).toEqual({ table: "tank", row: 0 });
  expect(rowOf({ key: "hull", row: null })).toBeNull();
  expect(rowOf({ key: "hull.openings[1]", row: 0 })).toBeNull();
});

it("moves what a part carries by the same way", () => {
  const body = (key: string, row: number, carries: string[]) => ({ key, row, carries }) as Body;
  const bodies = [
    body("part[1]", 0, ["part[3]", "tank[1]"]),
    body("part[2]", 1, []),
    body("part[3]", 2, []),
    body("tank[1]", 0, []),
  ];
  expect(shiftOps(bodies[0] as Body, bodies, [0.001, 0, 0])).toEqual([
    { op: "shift", table: "part", row: 0, by_m: [0.001, 0, 0] },
    { op: "shift", table: "part", row: 2, by_m: [0.001, 0, 0] },
    { op: "shift", table: "tank", row: 0, by_m: [0.001, 0, 0] },
  ]);
});

it("leaves a length as typed, but for a bare zero", () => {
  expect(typedLength(" 1 1/2 in ")).toBe("1 1/2 in");
  expect(typedLength("12 mm")).toBe("12 mm");
  expect(typedLength("0")).toBe(0);
  expect(typedLength("0.0")).toBe(0);
});
