/** The questions of the fit page, each fetched when it is opened. */
import type { Component } from "svelte";
import type { BoatStore } from "../frame/boat.svelte";

export interface Section {
  /** Stands in the address of the section and names its folder: the word of its study. */
  id: string;
  title: string;
  /** What it answers, in one line. */
  about: string;
  load: () => Promise<{ default: Component<{ store: BoatStore }> }>;
}

export const SECTIONS: readonly Section[] = [
  {
    id: "air",
    title: "Trapped air",
    about: "What stays in when she dives, and where vents belong",
    load: () => import("./air/Section.svelte"),
  },
];
