/** One question of a page that has several. */
import type { Component } from "svelte";
import type { BoatStore } from "./boat.svelte";

export interface Section {
  /** Names its folder: the word of its study. */
  id: string;
  title: string;
  /** What it answers, in one line. */
  about: string;
  load: () => Promise<{ default: Component<{ store: BoatStore }> }>;
}
