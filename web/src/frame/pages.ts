/** The pages of a boat, each fetched when it is first opened. */
import type { Component } from "svelte";
import type { BoatStore } from "./boat.svelte";
import type { Drawing } from "./Icon.svelte";
import type { BoatPage, Tab } from "./route";

type Page = Component<{ store: BoatStore }>;

export const PAGES: Record<BoatPage, () => Promise<{ default: Page }>> = {
  boat: () => import("../boat/Page.svelte"),
  weights: () => import("../weights/Page.svelte"),
  tank: () => import("../tank/Page.svelte"),
  trim: () => import("../trim/Page.svelte"),
  hull: () => import("../hull/Page.svelte"),
  fit: () => import("../fit/Page.svelte"),
  stability: () => import("../stability/Page.svelte"),
  versions: () => import("../versions/Page.svelte"),
  trace: () => import("../trace/Page.svelte"),
  prints: () => import("../prints/Page.svelte"),
  measures: () => import("../measures/Page.svelte"),
};

export const TITLES: Record<BoatPage, string> = {
  measures: "Hand measures",
  boat: "Boat",
  weights: "Weights",
  tank: "Tank",
  trim: "Trim",
  hull: "Hull",
  fit: "Fit",
  stability: "Stability",
  versions: "Versions",
  trace: "Trace a plan",
  prints: "Prints",
};

export const ICONS: Record<Tab, Drawing> = {
  boat: "boat",
  weights: "weights",
  tank: "tank",
  trim: "trim",
  hull: "hull",
  fit: "fit",
  stability: "stability",
  versions: "versions",
};
