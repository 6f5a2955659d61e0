/** Openings that the study proposes, as one edit of the boat file. */
import type { DrainCure, Op } from "../../frame/shapes";
import type { Change, ValueAt } from "../../hull/entries";

export function enlarging(cure: DrainCure, valueAt: ValueAt): Change {
  const ops = cure.openings.map((hole): Op => {
    const path = [...hole.path];
    return { op: "put", path, value: hole.area, was: valueAt(path) ?? null };
  });
  return { what: `Water that lags: ${cure.title.toLowerCase()} resized`, ops };
}
