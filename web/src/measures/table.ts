/** The table of hand measures as it is typed: rows, what counts of them, and what stands where. No figure is made here. */

import type { AdviceOut, MeasuresOut, MeasuresTable } from "../frame/shapes";

export type Row = MeasuresTable["rows"][number];
export type Slip = MeasuresOut["slips"][number];

export const COLUMNS = ["x", "beam", "height", "keel", "girth"] as const;
export type Column = (typeof COLUMNS)[number];
export const LEAST_STATIONS = 5;
/** So many rows the server takes. */
export const MOST_ROWS = 200;

export const NAMES: Record<Column, string> = {
  x: "place",
  beam: "beam",
  height: "height",
  keel: "lowest point",
  girth: "girth",
};

export function emptyRow(): Row {
  return COLUMNS.map(() => "");
}

/** A row with something measured in it; a place alone is only where one means to measure. */
export function isMeasured(row: readonly string[]): boolean {
  return row.slice(1).some((cell) => cell.trim() !== "");
}

/** Where in the table the rows stand that are sent, in order. */
export function measuredRows(rows: readonly Row[]): number[] {
  return rows.flatMap((row, at) => (isMeasured(row) ? [at] : []));
}

/** What is sent: the settings and the rows that count. */
export function sent(table: MeasuresTable): MeasuresTable {
  return { ...table, rows: table.rows.filter(isMeasured).map((row) => row.map((cell) => cell.trim())) };
}

/** Advice on a row of the table, or on one cell of it. Keys count the rows that were sent, from 1. */
export function adviceAt(
  advice: readonly AdviceOut[],
  measured: readonly number[],
  at: number,
  column?: Column,
): AdviceOut[] {
  const number = measured.indexOf(at) + 1;
  if (number === 0) return [];
  const row = `station[${number}]`;
  if (column !== undefined) return advice.filter((one) => one.key === `${row}.${column}`);
  return advice.filter((one) => one.key === row || one.key.startsWith(`${row}.`));
}

/** Advice that belongs to no row. */
export function adviceElsewhere(advice: readonly AdviceOut[], shown: readonly string[] = []): AdviceOut[] {
  return advice.filter((one) => !one.key.startsWith("station[") && !shown.includes(one.key));
}

/** The slips at a row of the table. */
export function slipsAt(slips: readonly Slip[], measured: readonly number[], at: number): Slip[] {
  return slips.filter((slip) => measured[slip.row] === at);
}

/** Whether a cell is one that a slip is about: the place, for a whole section. */
export function isSlip(slips: readonly Slip[], column: Column): boolean {
  return slips.some((slip) => (slip.measure === "section" ? "x" : slip.measure) === column);
}

/** Cells of a spreadsheet laid over the table from one cell on; null where the text is no more than one cell. */
export function pasted(rows: readonly Row[], at: number, column: number, text: string): Row[] | null {
  const lines = text.replace(/\r/g, "").replace(/\n$/, "").split("\n");
  if (lines.length === 1 && !text.includes("\t")) return null;
  const next = rows.map((row) => [...row]);
  lines.slice(0, MOST_ROWS - at).forEach((line, down) => {
    while (next.length <= at + down) next.push(emptyRow());
    const row = next[at + down];
    line.split("\t").forEach((cell, right) => {
      if (row && column + right < COLUMNS.length) row[column + right] = cell.trim();
    });
  });
  return next;
}
