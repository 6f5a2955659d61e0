/** The questions of the stability page, each fetched when it is opened. */
import type { Section } from "../frame/sections";

export const SECTIONS: readonly Section[] = [
  {
    id: "criteria",
    title: "Is it enough?",
    about: "Your limits, the verdict by them, and what to change.",
    load: () => import("./criteria/Section.svelte"),
  },
];
