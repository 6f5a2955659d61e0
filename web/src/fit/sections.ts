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
    id: "fit",
    title: "What touches what",
    about: "Shared room and clearances, the way in, the largest cylinder.",
    load: () => import("./fit/Section.svelte"),
  },
];
