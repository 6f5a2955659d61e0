/** Vents that the study proposes, as edits of the boat's openings. */

import type { Op, VentOut } from "../../frame/shapes";
import { openingsOf, type Change, type ValueAt } from "../../hull/entries";

/** Vents that are made together, such as one on either side. */
export function together(vents: readonly VentOut[]): VentOut[][] {
  const pairs = new Map<number, VentOut[]>();
  for (const vent of vents) pairs.set(vent.pair, [...(pairs.get(vent.pair) ?? []), vent]);
  return [...pairs.values()];
}

/** Writes vents into the file as openings, or makes openings larger; all in one step. */
export function making(vents: readonly VentOut[], valueAt: ValueAt): Change {
  const rows = valueAt(["hull", "openings"]);
  const fresh = vents
    .filter((vent) => vent.row === null)
    .map((vent) => ({ at: [...vent.at], area: vent.area }));
  const ops: Op[] = vents.flatMap((vent): Op[] => {
    if (vent.row === null) return [];
    const path = ["hull", "openings", vent.row, "area"];
    return [{ op: "put", path, value: vent.area, was: openingsOf(valueAt)[vent.row]?.area ?? null }];
  });
  if (Array.isArray(rows)) {
    fresh.forEach((value, index) => {
      ops.push({ op: "put", path: ["hull", "openings", rows.length + index], value, was: null });
    });
  } else if (fresh.length > 0) {
    ops.push({ op: "put", path: ["hull", "openings"], value: fresh, was: null });
  }
  const what = vents.length === 1 ? (vents[0]?.title ?? "Vent") : `${vents.length} vents`;
  return { what: `Trapped air: ${what.toLowerCase()}`, ops };
}
