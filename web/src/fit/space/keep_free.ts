/** What must stay free, as the boat file says it: keep-outs and parts that move, and the ops that write them. */

import { typedLength } from "../../boat/rows";
import type { Op } from "../../frame/shapes";
import { textOf, type Change, type ValueAt } from "../../hull/entries";

type Value = Extract<Op, { op: "put" }>["value"];

export interface KeepOutText {
  name: string;
  low: [string, string, string];
  high: [string, string, string];
}

export interface MovingText {
  row: number;
  name: string;
  moves: string;
}

/** Names of the keep-outs, with a word on where each is. */
export function keepOutsOf(valueAt: ValueAt): { name: string; where: string }[] {
  const rows = valueAt(["keep_out"]);
  if (!Array.isArray(rows)) return [];
  return rows.map((row: unknown) => {
    const table = (typeof row === "object" && row !== null ? row : {}) as Record<string, unknown>;
    const point = (key: string) =>
      Array.isArray(table[key]) ? (table[key] as unknown[]).map(textOf).join(", ") : "";
    const where = table.size
      ? `${point("size")} round ${point("at")}`
      : `from ${point("low")} to ${point("high")}`;
    return { name: textOf(table.name), where };
  });
}

export function addKeepOut(box: KeepOutText): Change {
  const values = {
    name: box.name.trim(),
    low: box.low.map(typedLength),
    high: box.high.map(typedLength),
  };
  return { what: `Keep out: ${values.name}`, ops: [{ op: "add row", table: "keep_out", values }] };
}

export function removeKeepOut(row: number, name: string): Change {
  return { what: `Remove keep-out ${name}`, ops: [{ op: "drop", path: ["keep_out", row] }] };
}

/** Parts that stand in the flooded space; what is in a dry part is of no matter to lead and foam. */
export function floodedParts(valueAt: ValueAt): MovingText[] {
  const rows = valueAt(["part"]);
  if (!Array.isArray(rows)) return [];
  return rows.flatMap((row: unknown, index) => {
    const table = (typeof row === "object" && row !== null ? row : {}) as Record<string, unknown>;
    const dry = table.kind === "inside" || (table.inside ?? null) !== null;
    if (dry || table.from === "trim") return [];
    return [{ row: index, name: textOf(table.name), moves: textOf(table.moves) }];
  });
}

/** Nothing typed takes the key away. Null where nothing changes. */
export function setMoves(part: MovingText, text: string): Change | null {
  const typed = text.trim();
  if (typed === part.moves) return null;
  const path = ["part", part.row, "moves"];
  if (typed === "") return { what: `${part.name} keeps still`, ops: [{ op: "drop", path }] };
  const was: Value = part.moves === "" ? null : part.moves;
  return {
    what: `${part.name} moves: ${typed}`.slice(0, 200),
    ops: [{ op: "put", path, value: typedLength(typed), was, row_name: part.name }],
  };
}
