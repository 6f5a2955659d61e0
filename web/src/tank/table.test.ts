// @vitest-environment node
import { describe, expect, it } from "vitest";
import type { Line } from "../frame/shapes";
import { beside, holdsGas } from "./table";

const line = (label: string, text: string, note = ""): Line => ({
  label,
  figure: { text, spread: "", value: null },
  note,
});

describe("needed beside present", () => {
  it("puts figures of one name in one row and keeps those that only one side has", () => {
    const rows = beside(
      [line("volume", "243 ml"), line("length", "76 mm")],
      [line("volume", "245 ml"), line("lift", "10 g")],
    );
    expect(rows.map((row) => [row.label, row.needed?.text ?? null, row.present?.text ?? null])).toEqual([
      ["volume", "243 ml", "245 ml"],
      ["length", "76 mm", null],
      ["lift", null, "10 g"],
    ]);
  });

  it("says a note once", () => {
    expect(beside([line("volume", "1 ml", "full")], [line("volume", "2 ml", "full")])[0]?.note).toBe("full");
  });
});

describe("the caution on gas", () => {
  it.each([
    [[{ system: "gas blown" }], true],
    [[{ system: "piston" }, { system: "air blown" }], true],
    [[{ system: "piston" }], false],
    ["nonsense", false],
    [[null, 3], false],
  ])("stands by %j: %s", (tank, wanted) => {
    expect(holdsGas({ tank })).toBe(wanted);
  });
});
