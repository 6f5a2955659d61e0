/** Light, dark, or as the system says; kept in this browser. */
export type Wish = "light" | "dark" | "system";

const KEPT = "dabchick.theme";
const WISHES: readonly Wish[] = ["light", "dark", "system"];

class Theme {
  wish = $state<Wish>("system");
  #systemDark = $state(false);
  readonly now: "light" | "dark" = $derived.by(() => {
    if (this.wish === "system") return this.#systemDark ? "dark" : "light";
    return this.wish;
  });

  /** Once, before the first drawing, so that no page flashes. */
  start(): void {
    const system = window.matchMedia("(prefers-color-scheme: dark)");
    this.#systemDark = system.matches;
    this.wish = WISHES.find((wish) => wish === read()) ?? "system";
    this.#apply();
    system.addEventListener("change", (event) => {
      this.#systemDark = event.matches;
      this.#apply();
    });
  }

  choose(wish: Wish): void {
    this.wish = wish;
    keep(wish);
    this.#apply();
  }

  /** A colour of the palette as it stands now, such as `colour("pond")`: for canvases, which know no CSS. */
  colour(name: string): string {
    // Reading `now` makes whoever asks draw anew when the theme changes.
    document.documentElement.dataset.theme = this.now;
    return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
  }

  #apply(): void {
    document.documentElement.dataset.theme = this.now;
  }
}

// A browser may forbid storage; the wish then holds for this visit.
function read(): string | null {
  try {
    return localStorage.getItem(KEPT);
  } catch (error) {
    if (error instanceof DOMException) return null;
    throw error;
  }
}

function keep(wish: Wish): void {
  try {
    localStorage.setItem(KEPT, wish);
  } catch (error) {
    if (!(error instanceof DOMException)) throw error;
  }
}

export const theme = new Theme();
