/** Which rows are shown, in which order, and what is wrong in them. */
import type { AdviceOut, Cell, WeightRow } from "../frame/shapes";
import type { Column } from "./columns";

export type KindFilter = "all" | "faults" | string;
export type Order = "file" | "name" | "heaviest" | "doubt";

export interface Fault {
  key: string;
  name: string;
  column: Column;
  advice: readonly AdviceOut[];
}

export function kindOf(row: WeightRow): string {
  if (row.table !== "part") return row.table;
  return row.cells.kind?.text ?? "";
}

export function nameOf(row: WeightRow): string {
  return row.cells.name?.text || row.cells.name?.assumed || "without a name";
}

export function cellsOf(row: WeightRow): [Column, Cell][] {
  return Object.entries(row.cells) as [Column, Cell][];
}

/** May be typed into: the hull's own row has figures that belong to other pages. */
export function typable(row: WeightRow, column: Column): boolean {
  const cell = row.cells[column];
  return cell !== undefined && cell.path.length > 0;
}

/** Whether a row can be copied and deleted as a whole; the skin is the hull itself. */
export function isRow(row: WeightRow): boolean {
  return row.table !== "skin";
}

export function faultsOf(rows: readonly WeightRow[]): Fault[] {
  return rows.flatMap((row) =>
    cellsOf(row).flatMap(([column, cell]) => {
      const advice = cell.advice ?? [];
      return advice.length > 0 ? [{ key: row.key, name: nameOf(row), column, advice }] : [];
    }),
  );
}

export function hasFault(row: WeightRow): boolean {
  return cellsOf(row).some(([, cell]) => (cell.advice ?? []).length > 0);
}

/** Advice as one text: what is wrong, then what to do. */
export function adviceText(advice: readonly AdviceOut[]): string {
  return advice.map((one) => `${one.what} ${one.todo}`.trim()).join("\n");
}

/** Each kind that occurs, with how often, in the order of the list of kinds. */
export function kindsOf(rows: readonly WeightRow[]): { kind: string; count: number }[] {
  const counts = new Map<string, number>();
  for (const row of rows) counts.set(kindOf(row), (counts.get(kindOf(row)) ?? 0) + 1);
  return [...counts].map(([kind, count]) => ({ kind, count }));
}

/** Every word must occur somewhere in the row. */
export function matching(rows: readonly WeightRow[], words: string, kind: KindFilter): WeightRow[] {
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  return rows.filter((row) => {
    if (kind === "faults" ? !hasFault(row) : kind !== "all" && kindOf(row) !== kind) return false;
    if (wanted.length === 0) return true;
    const text = cellsOf(row)
      .map(([, cell]) => cell.text)
      .concat(kindOf(row), row.from_trim ? "from trim" : "")
      .join(" ")
      .toLowerCase();
    return wanted.every((word) => text.includes(word));
  });
}

export function ordered(rows: readonly WeightRow[], order: Order): WeightRow[] {
  const by: Record<Order, (a: WeightRow, b: WeightRow) => number> = {
    file: () => 0,
    name: (a, b) => nameOf(a).localeCompare(nameOf(b)),
    heaviest: (a, b) => (b.mass.value ?? -1) - (a.mass.value ?? -1),
    doubt: (a, b) => Number(b.matters !== "") - Number(a.matters !== ""),
  };
  return [...rows].sort(by[order]);
}
