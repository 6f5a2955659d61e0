/** From a body to its row in the boat file. */

import type { Body, Op } from "../frame/shapes";
import type { Vec3 } from "../scene/vectors";

export interface Row {
  table: "part" | "tank";
  row: number;
}

/** Where a body stands in the boat file; null for what stands in no table of parts or tanks. */
export function rowOf(body: Pick<Body, "key" | "row">): Row | null {
  const table = /^(part|tank)\[/.exec(body.key)?.[1] as Row["table"] | undefined;
  return table !== undefined && body.row !== null ? { table, row: body.row } : null;
}

/** The ops that move a body, and all that it carries, by a way in the house frame. */
export function shiftOps(body: Body, bodies: readonly Body[], by: Vec3): Op[] {
  const moved = [body, ...bodies.filter((one) => body.carries.includes(one.key))];
  return moved
    .map(rowOf)
    .filter((row) => row !== null)
    .map((row) => ({ op: "shift", table: row.table, row: row.row, by_m: [...by] }));
}

/** A length as typed: a bare zero needs no unit and stands as a number in the file. */
export function typedLength(text: string): string | number {
  const plain = text.trim();
  return /^[+-]?0(?:[.,]0*)?$/.test(plain) ? 0 : plain;
}
