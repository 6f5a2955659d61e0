/** The questions of the stability page, each fetched when it is opened. */
import type { Section } from "../frame/sections";

export const SECTIONS: readonly Section[] = [
  {
    id: "stability",
    title: "All the way down",
    about: "From empty tanks to full ones and back: where is she least stable?",
    load: () => import("./stability/Section.svelte"),
  },
];
