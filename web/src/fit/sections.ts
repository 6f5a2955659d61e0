/** The questions of the fit page, each fetched when it is opened. */
import type { Section } from "../frame/sections";

export const SECTIONS: readonly Section[] = [
  {
    id: "fit",
    title: "What touches what",
    about: "Shared room and clearances, the way in, the largest cylinder.",
    load: () => import("./fit/Section.svelte"),
  },
  {
    id: "space",
    title: "Where lead and foam can go",
    about: "Free room by station, as blocks and as rails.",
    load: () => import("./space/Section.svelte"),
  },
  {
    id: "air",
    title: "Trapped air",
    about: "What stays in when she dives, and where vents belong.",
    load: () => import("./air/Section.svelte"),
  },
  {
    id: "split",
    title: "Break line",
    about: "Where she comes apart, and what each half weighs and carries.",
    load: () => import("./split/Section.svelte"),
  },
];
