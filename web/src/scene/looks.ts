/** How each kind of thing looks: colours by palette name, so that both themes and the printed sheet agree. */

import type { Body } from "../frame/shapes";

/** Steps of tone for a map on a surface, 1 the strongest. */
export type ToneKind = "tone1" | "tone2" | "tone3" | "tone4" | "tone5" | "tone6";

export type PieceKind = Body["kind"] | "water" | "air" | "moved" | "free_low" | "free_high" | ToneKind;

export type ColourName =
  "hull" | "edge" | "feather" | "slate" | "ink" | "lead" | "reed" | "reed-ground" | "pond" | "chestnut";

export interface Look {
  colour: ColourName;
  /** Seen face on; 1 is solid. */
  opacity: number;
  /** Added towards the rim, where a translucent skin is seen edge on. */
  rim: number;
  /** Later is drawn over earlier; what is translucent writes no depth, so the order is all it has. */
  order: number;
  /** Hairlines along sharp edges. */
  edges: ColourName | null;
  /** Diagonal strokes, by which foam is known without its colour. */
  hatched: boolean;
  /** Part of paper mixed into the colour; none where it is left out. */
  pale?: number;
  /** May be picked with the pointer; the hull never is, since it covers everything. */
  picked: boolean;
}

const SOLID = { opacity: 1, rim: 0, order: 12, hatched: false, picked: true } as const;
const CLEAR = { edges: null, hatched: false, picked: true } as const;

/** How much paper is mixed into each tone of a map; a legend beside the picture mixes the same. */
export const PALE: Readonly<Record<ToneKind, number>> = {
  tone1: 0,
  tone2: 0.22,
  tone3: 0.42,
  tone4: 0.6,
  tone5: 0.75,
  tone6: 0.88,
};
export const TONES = Object.keys(PALE) as ToneKind[];

function tone(kind: ToneKind): Look {
  return { ...SOLID, colour: "pond", edges: null, pale: PALE[kind] };
}

export const LOOKS: Readonly<Record<PieceKind, Look | null>> = {
  hull: { ...CLEAR, colour: "hull", opacity: 0.07, rim: 0.5, order: 40, picked: false },
  // The skin is the hull's own surface once more; drawing both would only cloud the view.
  skin: null,
  dry: { ...CLEAR, colour: "edge", opacity: 0.04, rim: 0.36, order: 20 },
  tank: { ...CLEAR, colour: "pond", opacity: 0.08, rim: 0.4, order: 22, edges: "pond" },
  water: { ...CLEAR, colour: "pond", opacity: 0.66, rim: 0.2, order: 18, picked: false },
  air: { ...CLEAR, colour: "reed", opacity: 0.4, rim: 0.1, order: 19, picked: false },
  solid: { ...SOLID, colour: "slate", edges: "ink" },
  inside: { ...SOLID, colour: "hull", edges: "ink" },
  lead: { ...SOLID, colour: "lead", edges: "ink" },
  foam: { ...SOLID, colour: "reed-ground", edges: "reed", hatched: true },
  moved: { ...SOLID, colour: "chestnut", opacity: 0.35, order: 24, edges: "chestnut" },
  tone1: { ...tone("tone1"), hatched: true },
  tone2: tone("tone2"),
  tone3: tone("tone3"),
  tone4: tone("tone4"),
  tone5: tone("tone5"),
  tone6: tone("tone6"),
  opening: null,
  keep_out: { ...CLEAR, colour: "chestnut", opacity: 0.1, rim: 0, order: 24, edges: "chestnut" },
  free_low: { ...CLEAR, colour: "pond", opacity: 0.3, rim: 0, order: 23, picked: false },
  free_high: { ...CLEAR, colour: "reed", opacity: 0.3, rim: 0, order: 23, picked: false },
  place: { ...CLEAR, colour: "reed", opacity: 0.04, rim: 0, order: 24, edges: "reed" },
};

/** Colours as they stand in the theme, by palette name. */
export interface Colours {
  of: (name: ColourName) => string;
  paper: string;
  shallows: string;
  dark: boolean;
}
