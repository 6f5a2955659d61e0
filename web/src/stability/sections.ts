/** The questions of the stability page, each fetched when it is opened. */
import type { Section } from "../frame/sections";

export const SECTIONS: readonly Section[] = [
  {
    id: "stability",
    title: "All the way down",
    about: "From empty tanks to full ones and back: where is she least stable?",
    load: () => import("./stability/Section.svelte"),
  },
  {
    id: "criteria",
    title: "Is it enough?",
    about: "Your limits, the verdict by them, and what to change.",
    load: () => import("./criteria/Section.svelte"),
  },
  {
    id: "drain",
    title: "Water that lags",
    about: "What has not run out of casing and hull when she comes up.",
    load: () => import("./drain/Section.svelte"),
  },
  {
    id: "squeeze",
    title: "Air and depth",
    about: "Lift that depth takes, and from where she comes back.",
    load: () => import("./squeeze/Section.svelte"),
  },
  {
    id: "heel",
    title: "What heels her",
    about: "Torque, a turn, wind, a side weight.",
    load: () => import("./heel/Section.svelte"),
  },
  {
    id: "leak",
    title: "A leak",
    about: "A dry part that fills slowly: how much she stands, for how long, and what would save her.",
    load: () => import("./leak/Section.svelte"),
  },
];
