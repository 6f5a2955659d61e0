/** The hull's entries of the boat file: reading them, and the ops that write them as they were typed. */

import { typedLength } from "../boat/rows";
import type { AdviceOut, Op } from "../frame/shapes";

export type Path = readonly (string | number)[];
type Value = Extract<Op, { op: "put" }>["value"];

/** Reads what stands in the file at a path; null where nothing stands. */
export type ValueAt = (path: Path) => unknown;

export interface Change {
  what: string;
  ops: Op[];
}

export interface OpeningText {
  at: [string, string, string];
  area: string;
}

/** The key of a path as advice names it, rows counted from 1. */
export function keyOf(path: Path): string {
  return path.reduce<string>(
    (key, part) => (typeof part === "number" ? `${key}[${part + 1}]` : key === "" ? part : `${key}.${part}`),
    "",
  );
}

/** The advice on a path or on anything below it, but not on what `others` of the page show. */
export function adviceOn(
  path: Path,
  advice: readonly AdviceOut[],
  others: readonly Path[] = [],
): AdviceOut[] {
  const within = (one: AdviceOut, of: Path) => {
    const key = keyOf(of);
    return one.key === key || one.key.startsWith(`${key}.`) || one.key.startsWith(`${key}[`);
  };
  return advice.filter((one) => within(one, path) && !others.some((other) => within(one, other)));
}

/** A value as its field shows it. */
export function textOf(value: unknown): string {
  return typeof value === "string" || typeof value === "number" ? String(value) : "";
}

/** What typing into a field does; nothing typed takes the key away. Null where nothing changes. */
export function writing(label: string, path: Path, text: string, valueAt: ValueAt): Change | null {
  const was = valueAt(path);
  const typed = text.trim();
  if (typed === textOf(was)) return null;
  if (typed === "") return { what: `Take away: ${label}`, ops: [{ op: "drop", path: [...path] }] };
  return { what: `${label}: ${typed}`.slice(0, 200), ops: [put(path, typedLength(typed), was)] };
}

/** The weighed mass of the bare skin may stand as bare text or as a table that says how it is known. */
export function massPath(valueAt: ValueAt): Path {
  const root: Path = ["hull", "skin", "mass"];
  const stands = valueAt(root);
  return typeof stands === "object" && stands !== null ? [...root, "value"] : root;
}

export function writeMass(text: string, valueAt: ValueAt): Change | null {
  const root: Path = ["hull", "skin", "mass"];
  const path = massPath(valueAt);
  const was = valueAt(path);
  const typed = text.trim();
  if (typed === textOf(was)) return null;
  if (typed === "") return { what: "Take away: mass of the skin", ops: [{ op: "drop", path: [...root] }] };
  const what = `Mass of the skin: ${typed}`.slice(0, 200);
  if (was !== null) return { what, ops: [put(path, typed, was)] };
  return { what, ops: [put(root, { value: typed, known: "weighed" }, null)] };
}

export function openingsOf(valueAt: ValueAt): OpeningText[] {
  const rows = valueAt(["hull", "openings"]);
  if (!Array.isArray(rows)) return [];
  return rows.map((row: unknown) => {
    const table = (typeof row === "object" && row !== null ? row : {}) as { at?: unknown; area?: unknown };
    const at = Array.isArray(table.at) ? table.at : [];
    return { at: [textOf(at[0]), textOf(at[1]), textOf(at[2])], area: textOf(table.area) };
  });
}

export function moveOpening(row: number, axis: number, text: string, valueAt: ValueAt): Change | null {
  const path: Path = ["hull", "openings", row, "at", axis];
  const was = valueAt(path);
  const typed = text.trim();
  if (typed === "" || typed === textOf(was)) return null;
  return { what: `Place opening ${row + 1}`, ops: [put(path, typedLength(typed), was)] };
}

export function sizeOpening(row: number, text: string, valueAt: ValueAt): Change | null {
  const path: Path = ["hull", "openings", row, "area"];
  const was = valueAt(path);
  const typed = text.trim();
  if (typed === "" || typed === textOf(was)) return null;
  return { what: `Opening ${row + 1}: ${typed}`.slice(0, 200), ops: [put(path, typed, was)] };
}

export function addOpening(opening: OpeningText, valueAt: ValueAt): Change {
  const value = { at: opening.at.map(typedLength), area: opening.area.trim() };
  const rows = valueAt(["hull", "openings"]);
  const count = Array.isArray(rows) ? rows.length : null;
  const op =
    count === null ? put(["hull", "openings"], [value], null) : put(["hull", "openings", count], value, null);
  return { what: `Add opening ${(count ?? 0) + 1}`, ops: [op] };
}

/** The last one takes the whole list with it. */
export function removeOpening(row: number, valueAt: ValueAt): Change {
  const rows = valueAt(["hull", "openings"]);
  const path = Array.isArray(rows) && rows.length > 1 ? ["hull", "openings", row] : ["hull", "openings"];
  return { what: `Remove opening ${row + 1}`, ops: [{ op: "drop", path }] };
}

/** Both marks at once, since one alone says nothing. */
export function setMarks(bow: string, stern: string): Change {
  return {
    what: "Set the draught marks",
    ops: [put(["hull", "marks"], { bow: typedLength(bow), stern: typedLength(stern) }, null)],
  };
}

function put(path: Path, value: Value, was: unknown): Op {
  return { op: "put", path: [...path], value, was: (was ?? null) as Value };
}
