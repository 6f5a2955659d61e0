/** How each kind of thing looks: colours by palette name, so that both themes and the printed sheet agree. */

import type { Body } from "../frame/shapes";

export type PieceKind = Body["kind"] | "water" | "air" | "moved";

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
  /** May be picked with the pointer; the hull never is, since it covers everything. */
  picked: boolean;
}

const SOLID = { opacity: 1, rim: 0, order: 12, hatched: false, picked: true } as const;
const CLEAR = { edges: null, hatched: false, picked: true } as const;

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
  opening: null,
  place: { ...CLEAR, colour: "reed", opacity: 0.04, rim: 0, order: 24, edges: "reed" },
};

/** Colours as they stand in the theme, by palette name. */
export interface Colours {
  of: (name: ColourName) => string;
  paper: string;
  shallows: string;
  dark: boolean;
}
