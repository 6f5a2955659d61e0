/** Steps of work on whole rows, as ops of one edit. */
import type { Op, WeightRow } from "../frame/shapes";
import { isRow, nameOf } from "./rows";

export interface Step {
  what: string;
  ops: Op[];
}

type Table = "part" | "tank";

const tableOf = (row: WeightRow): Table | null => (row.table === "skin" ? null : row.table);

/** From the last to the first, so that no op moves the rows that the next ones name. */
function fromTheEnd(rows: readonly WeightRow[]): WeightRow[] {
  return rows.filter(isRow).sort((a, b) => b.row - a.row);
}

export function copying(rows: readonly WeightRow[]): Step | null {
  const ops = fromTheEnd(rows).flatMap((row): Op[] => {
    const table = tableOf(row);
    return table ? [{ op: "copy row", table, row: row.row }] : [];
  });
  return ops.length > 0 ? { what: `Copy ${named(rows.filter(isRow))}`, ops } : null;
}

export function deleting(rows: readonly WeightRow[]): Step | null {
  const ops = fromTheEnd(rows).map((row): Op => ({ op: "drop", path: [row.table, row.row] }));
  return ops.length > 0 ? { what: `Delete ${named(rows.filter(isRow))}`, ops } : null;
}

/** One name, or how many there are. */
export function named(rows: readonly WeightRow[]): string {
  const [first] = rows;
  if (!first) return "nothing";
  return rows.length === 1 ? nameOf(first) : `${rows.length} rows`;
}

export interface NewPart {
  name: string;
  kind: string;
  mass: string;
  known: string;
  x: string;
  y: string;
  z: string;
  inside: string;
  shape: "" | "box" | "cylinder" | "sphere";
  length: string;
  width: string;
  height: string;
}

export const NOTHING_YET: NewPart = {
  name: "",
  kind: "inside",
  mass: "",
  known: "weighed",
  x: "",
  y: "0",
  z: "",
  inside: "",
  shape: "",
  length: "",
  width: "",
  height: "",
};

/** What is not filled in is left out, and the list then says at the cell what is missing. */
export function adding(part: NewPart): Step {
  const values: Extract<Op, { op: "add row" }>["values"] = { name: part.name.trim(), kind: part.kind };
  if (part.kind === "inside" && part.inside !== "") values.inside = part.inside;
  const shape = shapeOf(part);
  if (shape) values.shape = shape;
  values.at = [length(part.x), length(part.y), length(part.z)];
  if (part.mass.trim() !== "") values.mass = { value: part.mass.trim(), known: part.known };
  return { what: `Add ${part.name.trim() || "a part"}`, ops: [{ op: "add row", table: "part", values }] };
}

/** A bare 0 is zero in any unit, and the file writes it so; nothing typed stays nothing and is marked in the list. */
function length(text: string): string | number {
  return text.trim() === "0" ? 0 : text.trim();
}

function shapeOf(part: NewPart) {
  switch (part.shape) {
    case "box":
      return { box: { size: [part.length.trim(), part.width.trim(), part.height.trim()] } };
    case "cylinder":
      return { cylinder: { length: part.length.trim(), diameter: part.width.trim() } };
    case "sphere":
      return { sphere: { diameter: part.length.trim() } };
    default:
      return null;
  }
}
