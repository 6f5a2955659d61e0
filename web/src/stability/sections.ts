/** The questions of the stability page, each fetched when it is opened. */
import type { Section } from "../frame/sections";

export const SECTIONS: readonly Section[] = [
  {
    id: "squeeze",
    title: "Air and depth",
    about: "Lift that depth takes, and from where she comes back.",
    load: () => import("./squeeze/Section.svelte"),
  },
];
