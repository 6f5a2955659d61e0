// @vitest-environment node
import { describe, expect, it } from "vitest";
import { byState } from "./small_changes";

const line = (label: string, note: string, text: string) => ({
  label,
  note,
  figure: { text, spread: "", value: null },
});

describe("small changes", () => {
  it("stand in one row a change, with a gap where a state has no figure", () => {
    const table = byState([
      line("10 g at the bow", "surfaced", "-0.3 deg"),
      line("10 g at the bow", "dived", "-11 deg"),
      line("water 1 degC warmer", "dived", "-0.3 g"),
    ]);
    expect(table.states).toEqual(["surfaced", "dived"]);
    expect(
      table.rows.map((row) => [row.label, ...row.figures.map((figure) => figure?.text ?? null)]),
    ).toEqual([
      ["10 g at the bow", "-0.3 deg", "-11 deg"],
      ["water 1 degC warmer", null, "-0.3 g"],
    ]);
  });

  it("are none for no lines", () => {
    expect(byState([])).toEqual({ states: [], rows: [] });
  });
});
