/** Rows for tests. */
import type { AdviceOut, Cell, WeightRow, WeightsOut } from "../frame/shapes";
import type { Column } from "./columns";

export function advice(what: string): AdviceOut {
  return {
    what,
    todo: 'Write it like "310 g".',
    where: "boat.toml",
    key: "",
    given: "",
    allowed: "",
    severity: "error",
  };
}

export function row(
  at: number,
  texts: Partial<Record<Column, string>>,
  more: Partial<WeightRow> = {},
): WeightRow {
  const cells: WeightRow["cells"] = {};
  for (const [column, text] of Object.entries(texts) as [Column, string][]) {
    const cell: Cell = { text, path: ["part", at, column], value: text, assumed: "", advice: [] };
    cells[column] = cell;
  }
  return {
    table: "part",
    row: at,
    key: `part[${at + 1}]`,
    from_trim: false,
    cells,
    mass: {
      text: texts.mass ?? "unknown",
      spread: "",
      value: texts.mass ? Number.parseFloat(texts.mass) : null,
    },
    share: "",
    matters: "",
    ...more,
  };
}

export function list(rows: WeightRow[]): WeightsOut {
  return {
    revision: 1,
    figures_revision: 1,
    rows,
    count: rows.length,
    total: { text: "2.61 kg", spread: "6 g", value: 2.61 },
    centre: ["412 mm", "0.1 mm", "46 mm"].map((text) => ({ text, spread: "1 mm", value: 0 })),
    surfaced: {
      state: "surfaced",
      rows: [],
      verdict: "watch",
      sentence: "She floats 2 mm too low at the bow.",
    },
    dived: { state: "dived", rows: [], verdict: "good", sentence: "She hangs level." },
    kinds: ["dry", "solid", "inside", "lead", "foam"],
    systems: ["piston", "bag"],
    sentence: "Wren weighs 2.61 kg with empty tanks.",
    axes: ["from the bow", "to port", "over the keel"],
    length_unit: "mm",
    mass_unit: "g",
    knowns: ["weighed", "measured", "catalogue", "drawing", "guess"],
    holders: ["cylinder"],
    materials: ["brass", "lead"],
    advice: [],
  };
}
