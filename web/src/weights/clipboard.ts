/** Rows as text that a spreadsheet takes, and text that comes from one. */
import type { WeightRow } from "../frame/shapes";
import type { ColumnAbout } from "./columns";

/** Headings and rows, cells between tabs; a cell with a tab, line end or quote is quoted. */
export function asTable(rows: readonly WeightRow[], columns: readonly ColumnAbout[]): string {
  const lines = rows.map((row) => columns.map(({ column }) => row.cells[column]?.text ?? ""));
  return (
    [columns.map((one) => one.column), ...lines].map((line) => line.map(quoted).join("\t")).join("\n") + "\n"
  );
}

function quoted(text: string): string {
  return /[\t\r\n"]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** One value rather than a table: it goes straight into the cell. */
export function isSingle(text: string): boolean {
  return !/[\t\r\n]/.test(text.trim());
}
