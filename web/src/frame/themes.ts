/** The choice of light, dark or system, for menus. */
import type { Drawing } from "./Icon.svelte";
import type { Choice } from "./Menu.svelte";
import { theme, type Wish } from "./theme.svelte";

const LABELS: Record<Wish, string> = { light: "Light", dark: "Dark", system: "As the system" };

export function themeIcon(): Drawing {
  return theme.wish;
}

export function themeChoices(): Choice[] {
  return (["light", "dark", "system"] as const).map((wish) => ({
    label: LABELS[wish],
    ticked: theme.wish === wish,
    choose: () => theme.choose(wish),
  }));
}
