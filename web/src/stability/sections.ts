/** The questions of the stability page, each fetched when it is opened. */
import type { Section } from "../frame/sections";

export const SECTIONS: readonly Section[] = [
  {
    id: "drain",
    title: "Water that lags",
    about: "What has not run out of casing and hull when she comes up.",
    load: () => import("./drain/Section.svelte"),
  },
];
