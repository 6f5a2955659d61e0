/** The piles begun in this visit, so that one is still there when its page is opened again. */

import { Pile } from "./pile.svelte";

const piles = new Map<string, Pile>();

/** The pile of a boat, as it was left when her page was last open. */
export function pileOf(boat: string): Pile {
  const pile = piles.get(boat) ?? new Pile();
  piles.set(boat, pile);
  return pile;
}
