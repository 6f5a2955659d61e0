/** The questions of the stability page, each fetched when it is opened. */
import type { Section } from "../frame/sections";

export const SECTIONS: readonly Section[] = [
  {
    id: "heel",
    title: "What heels her",
    about: "Torque, a turn, wind, a side weight.",
    load: () => import("./heel/Section.svelte"),
  },
];
