import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { theme } from "./theme.svelte";

let systemDark = false;
let tell: (event: { matches: boolean }) => void = () => undefined;

beforeEach(() => {
  localStorage.clear();
  systemDark = false;
  vi.stubGlobal("matchMedia", () => ({
    matches: systemDark,
    addEventListener: (_kind: string, listener: typeof tell) => (tell = listener),
  }));
});
afterEach(() => vi.unstubAllGlobals());

const shown = () => document.documentElement.dataset.theme;

it("follows the system, also when it changes, until one is chosen", () => {
  theme.start();
  expect([theme.wish, shown()]).toEqual(["system", "light"]);
  tell({ matches: true });
  expect(shown()).toBe("dark");
  theme.choose("light");
  tell({ matches: true });
  expect(shown()).toBe("light");
});

it("remembers what was chosen, and takes a strange entry for none", () => {
  theme.choose("dark");
  theme.start();
  expect([theme.wish, shown()]).toEqual(["dark", "dark"]);
  localStorage.setItem("dabchick.theme", "plaid");
  theme.start();
  expect(theme.wish).toBe("system");
});
