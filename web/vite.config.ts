import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { svelte } from "@sveltejs/vite-plugin-svelte";
import { svelteTesting } from "@testing-library/svelte/vite";
import type { Plugin } from "vite";
import { defineConfig } from "vitest/config";

const PAGES = fileURLToPath(new URL("../src/dabchick/workbench/pages", import.meta.url));
const SERVER = process.env.DABCHICK_SERVER ?? "http://127.0.0.1:8642";

const FONTS = ["@fontsource-variable/atkinson-hyperlegible-next", "@fontsource/libertinus-serif"];

/** The licences of the fonts go with them; those of the libraries are written by Vite itself. */
function fontLicences(): Plugin {
  return {
    name: "font-licences",
    apply: "build",
    generateBundle() {
      const texts = FONTS.map((font) => {
        const text = readFileSync(new URL(`node_modules/${font}/LICENSE`, import.meta.url), "utf-8");
        return `${font}\n\n${text}`;
      });
      this.emitFile({ type: "asset", fileName: "licences-of-fonts.txt", source: texts.join("\n\n") });
    },
  };
}

export default defineConfig({
  base: "/",
  plugins: [svelte(), svelteTesting(), fontLicences()],
  build: {
    outDir: PAGES,
    emptyOutDir: true,
    license: { fileName: "licences-of-libraries.txt" },
    target: "es2022",
    // A font or picture put into a stylesheet as data: would need a looser content policy.
    assetsInlineLimit: 0,
    // The polyfill would be an inline script; every browser that runs these pages preloads modules itself.
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 1200,
  },
  server: {
    // The server lets in only pages of its own, so while developing the requests are given its name.
    proxy: { "/api": { target: SERVER, ws: true, changeOrigin: true, headers: { origin: SERVER } } },
  },
  test: {
    environment: "jsdom",
    include: ["src/**/*.test.ts"],
    restoreMocks: true,
  },
});
