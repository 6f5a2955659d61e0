// @vitest-environment node
import { describe, expect, it } from "vitest";
import type { AdviceOut } from "../frame/shapes";
import { adviceAt, adviceElsewhere, isSlip, measuredRows, pasted, sent, slipsAt } from "./table";

const ROWS = [
  ["0", "0", "0", "", ""],
  ["30", "", "", "", ""],
  ["80", "84 ", "84", "58", "264"],
];
const advice = (key: string): AdviceOut => ({
  what: key,
  todo: "",
  where: "",
  key,
  given: "",
  allowed: "",
  severity: "error",
});

describe("the table of measures", () => {
  it("counts only rows in which something was measured", () => {
    expect(measuredRows(ROWS)).toEqual([0, 2]);
    const table = { unit: "mm", measured_from: "bow", girth: "whole", rows: ROWS } as const;
    expect(sent({ ...table, rows: ROWS }).rows).toEqual([
      ["0", "0", "0", "", ""],
      ["80", "84", "84", "58", "264"],
    ]);
  });

  it("finds the advice of a cell though rows before it were not sent", () => {
    const all = [advice("station[2].girth"), advice("station[2]"), advice("tape"), advice("station[1].x")];
    const measured = measuredRows(ROWS);
    expect(adviceAt(all, measured, 2, "girth").map((one) => one.key)).toEqual(["station[2].girth"]);
    expect(adviceAt(all, measured, 2).map((one) => one.key)).toEqual(["station[2].girth", "station[2]"]);
    expect(adviceAt(all, measured, 1)).toEqual([]);
    expect(adviceElsewhere(all).map((one) => one.key)).toEqual(["tape"]);
    expect(adviceElsewhere(all, ["tape"])).toEqual([]);
  });

  it("puts a slip at its cell, and that of a whole section at its place", () => {
    const slip = { row: 1, in_line: "84.1 mm", sentence: "" };
    const slips = [{ ...slip, measure: "girth" as const }];
    expect(slipsAt(slips, [0, 2], 2)).toEqual(slips);
    expect(slipsAt(slips, [0, 2], 1)).toEqual([]);
    expect(isSlip(slips, "girth")).toBe(true);
    expect(isSlip([{ ...slip, measure: "section" }], "x")).toBe(true);
  });

  it("takes a piece of a spreadsheet from any cell on, and leaves a single value to the field", () => {
    expect(pasted(ROWS, 1, 1, "50.4")).toBeNull();
    expect(pasted(ROWS, 1, 1, "50.4\t50.3\r\n84\t85\t57\t264\t9\n")).toEqual([
      ["0", "0", "0", "", ""],
      ["30", "50.4", "50.3", "", ""],
      ["80", "84", "85", "57", "264"],
    ]);
    expect(pasted([["0", "", "", "", ""]], 0, 0, "1\n2")).toEqual([
      ["1", "", "", "", ""],
      ["2", "", "", "", ""],
    ]);
  });
});
