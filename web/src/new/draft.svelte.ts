/** A boat about to be made. It outlives the page, so that a look elsewhere costs nothing that was typed. */

import type { NewBoat, StarterPart } from "../frame/shapes";
import { BringIn } from "../hull/bring_in.svelte";

export type Source = "size" | "upload" | "demo";
export type Form = "round" | "flat deck" | "slender";
export type UnitSet = "metric" | "inch";

interface Sizes {
  length: string;
  beam: string;
  height: string;
}

/** A middling boat, to begin with. */
const START: Readonly<Record<UnitSet, Sizes>> = {
  metric: { length: "900 mm", beam: "110 mm", height: "120 mm" },
  inch: { length: "36 in", beam: "4.4 in", height: "4.8 in" },
};

export class Draft {
  name = $state("");
  units = $state<UnitSet>("metric");
  source = $state<Source>("size");
  sizes = $state<Sizes>({ ...START.metric });
  form = $state<Form>("round");
  skin = $state("");
  material = $state("GRP");
  waterline = $state("");
  /** Ticks that the builder has changed; the others are as is usual. */
  ticks = $state<Record<string, boolean>>({});
  readonly file = new BringIn();

  /** Sizes that are still as they stood at the start follow the units. */
  measure(units: UnitSet): void {
    const start = START[this.units];
    for (const key of ["length", "beam", "height"] as const) {
      if (this.sizes[key] === start[key]) this.sizes[key] = START[units][key];
    }
    this.units = units;
  }

  /** Her main sizes and waterline, such as a scale gives them; all else stays as it is. */
  begin(sizes: Sizes & { waterline: string }): void {
    this.source = "size";
    this.sizes = { length: sizes.length, beam: sizes.beam, height: sizes.height };
    this.waterline = sizes.waterline;
  }

  ticked(part: StarterPart): boolean {
    return this.ticks[part.part] ?? part.usual;
  }

  /** What is asked of the server; null while the file is not ready. */
  wish(parts: readonly StarterPart[]): NewBoat | null {
    const common = { name: this.name.trim(), units: this.units };
    if (this.source === "demo") {
      return { ...common, hull: { source: "demo" }, skin: "", skin_material: "", waterline: "", parts: [] };
    }
    const rest = {
      skin: this.source === "upload" && this.file.solidWalled ? "" : this.skin.trim(),
      skin_material: this.material,
      waterline: this.waterline.trim(),
      parts: parts.filter((part) => this.ticked(part)).map((part) => part.part),
    };
    if (this.source === "size") {
      return { ...common, hull: { source: "size", ...this.sizes, form: this.form }, ...rest };
    }
    const chosen = this.file.chosen;
    return chosen ? { ...common, hull: { source: "upload", ...chosen }, ...rest } : null;
  }

  /** What is still missing before she can be made, in a few words; empty when nothing is. */
  missing(): string {
    if (this.name.trim() === "") return "Give her a name first.";
    return this.source === "upload" ? this.file.missing : "";
  }
}

let kept: Draft | null = null;

/** The boat that was begun and not made yet. */
export function draft(): Draft {
  kept ??= new Draft();
  return kept;
}

/** She is made; the next one begins afresh. */
export function made(): void {
  kept?.file.forget();
  kept = null;
}
