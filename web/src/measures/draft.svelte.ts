/** The measures of a boat as they are being typed. They outlive the page, so that a look elsewhere costs nothing. */

import { SvelteMap } from "svelte/reactivity";
import type { MeasuresStart, MeasuresTable } from "../frame/shapes";

export class Draft {
  table = $state<MeasuresTable>({ unit: "mm", measured_from: "bow", girth: "whole", rows: [] });
  /** Something was typed since it was fetched. */
  touched = $state(false);

  constructor(readonly start: MeasuresStart) {
    this.table = structuredClone(start.table);
  }
}

const kept = new SvelteMap<string, Draft>();

/** The draft that was begun for a boat. */
export function keptDraft(boat: string): Draft | undefined {
  return kept.get(boat);
}

export function keep(boat: string, draft: Draft): Draft {
  kept.set(boat, draft);
  return draft;
}
