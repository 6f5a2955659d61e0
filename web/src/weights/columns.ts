/** The columns of the weight list: what they are called, how they are typed, and how wide they start. */
import type { WeightRow, WeightsOut } from "../frame/shapes";
import type { components } from "../frame/types";

export type Column = NonNullable<components["schemas"]["Pasted"]["column"]>;
export type Typing = "text" | "choice" | "tick";

export interface ColumnAbout {
  column: Column;
  heading: string;
  /** One sentence for whoever has not met the word. */
  about: string;
  typing: Typing;
  /** Figures stand to the right, so that digits line up. */
  figure: boolean;
  width: number;
  example: string;
}

/** `axes` say where the builder's zeros are, such as "from the bow". */
export function columnsFrom(axes: readonly string[]): ColumnAbout[] {
  const [along = "along", across = "to port", up = "up"] = axes;
  return [
    text("name", "Name", "What you call it. No two parts share a name.", 184, "battery"),
    figure("mass", "Mass", "With any unit: 310 g, 7 oz, 0.4 kg.", 108, "310 g"),
    choice("known", "Known how", "How the mass is known. The surer, the smaller its spread.", 122),
    figure(
      "spread",
      "Spread",
      "One standard deviation of the mass, where you know better than the word says.",
      96,
      "2 g",
    ),
    figure("x", `x ${along}`.replace(" the ", " "), `Its middle along the boat, ${along}.`, 116, "270 mm"),
    figure("y", `y ${across}`, "Its middle off the centreline; plus is to port.", 100, "0 mm"),
    figure("z", `z ${up}`.replace(" the ", " "), `How high its middle lies, ${up}.`, 116, "30 mm"),
    choice(
      "kind",
      "Kind",
      "dry: sealed. inside: a mass in a dry part. solid: in the flooded space. lead, foam.",
      100,
    ),
    choice("inside", "Inside", "Which dry part holds it.", 120),
    choice("material", "Material", "With a material, mass and volume follow from one another.", 116),
    figure("volume", "Volume", "What it displaces, where you know better than its shape.", 116, "28 ml"),
    {
      ...choice("outside", "Outside", "It belongs outside the hull: sail, mast, planes.", 92),
      typing: "tick",
    },
    text("note", "Note", "Anything you want to remember.", 260, "on the tray, aft end"),
  ];
}

export type Choices = Pick<WeightsOut, "kinds" | "systems" | "knowns" | "holders" | "materials">;

/** The choices of a cell that is chosen rather than typed; the empty one takes the word away where there may be none. */
export function choicesOf(row: Pick<WeightRow, "table">, column: Column, list: Choices): string[] {
  switch (column) {
    case "kind":
      return row.table === "tank" ? list.systems : list.kinds;
    case "known":
      return ["", ...list.knowns];
    case "inside":
      return ["", ...list.holders];
    case "material":
      return ["", ...list.materials];
    default:
      return [];
  }
}

function text(column: Column, heading: string, about: string, width: number, example: string): ColumnAbout {
  return { column, heading, about, typing: "text", figure: false, width, example };
}

function figure(column: Column, heading: string, about: string, width: number, example: string): ColumnAbout {
  return { column, heading, about, typing: "text", figure: true, width, example };
}

function choice(column: Column, heading: string, about: string, width: number): ColumnAbout {
  return { column, heading, about, typing: "choice", figure: false, width, example: "" };
}
