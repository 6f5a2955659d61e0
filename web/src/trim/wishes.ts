/** The wishes of a trim as fields of the boat file: where each stands, how it is typed, and the op that writes it. */
import type { AdviceOut, Op } from "../frame/shapes";

export type Path = readonly (string | number)[];

export interface Wish {
  id: string;
  label: string;
  hint: string;
  example: string;
  path: Path;
  /** Several values of one kind in one line: `2 g, 5 g`. */
  list?: boolean;
}

export const WISHES = {
  waterline: {
    id: "waterline",
    label: "Waterline",
    hint: "Over the keel, boat level.",
    example: "82 mm",
    path: ["hull", "waterline"],
  },
  lift: {
    id: "lift",
    label: "Lift when dived",
    hint: "How much she wants to come up.",
    example: "12 g",
    path: ["trim", "lift_dived"],
  },
  bg: {
    id: "bg",
    label: "Least BG",
    hint: "How far the weight hangs below the lift.",
    example: "5 mm",
    path: ["trim", "least_bg"],
  },
  clearance: {
    id: "clearance",
    label: "Clearance",
    hint: "How far lead and foam stay off everything else.",
    example: "3 mm",
    path: ["trim", "clearance"],
  },
  pieces: {
    id: "pieces",
    label: "Pieces at hand",
    hint: "Masses with commas between; any number of each.",
    example: "5 g, 10 g, 20 g",
    path: ["trim", "lead", "pieces"],
    list: true,
  },
  density: {
    id: "density",
    label: "Foam density",
    hint: "Weigh a block and divide by its volume.",
    example: "35 kg/m^3",
    path: ["trim", "foam", "density"],
  },
  sheet: {
    id: "sheet",
    label: "Foam sheet",
    hint: "Its thickness; empty for blocks cut freely.",
    example: "10 mm",
    path: ["trim", "foam", "sheet"],
  },
  least: {
    id: "least",
    label: "Smallest foam piece",
    hint: "Worth cutting.",
    example: "5 ml",
    path: ["trim", "foam", "least"],
  },
} as const satisfies Record<string, Wish>;

/** Keys as the boat file's advice names them, counting from 1: `trim.lead.pieces`, `place[3].low`. */
export function keyOf(path: Path): string {
  return path.reduce<string>(
    (key, part) => (typeof part === "number" ? `${key}[${part + 1}]` : key === "" ? part : `${key}.${part}`),
    "",
  );
}

/** The advice on a path, or on anything below it. */
export function adviceOn(path: Path, advice: readonly AdviceOut[]): AdviceOut[] {
  const key = keyOf(path);
  return advice.filter(
    (one) => one.key === key || one.key.startsWith(`${key}.`) || one.key.startsWith(`${key}[`),
  );
}

/** As the field shows it. */
export function textOf(value: unknown): string {
  if (value === null || value === undefined) return "";
  if (Array.isArray(value)) return value.map(textOf).join(", ");
  return String(value);
}

/** What an edit of the field does; nothing typed takes the key away, so that the usual value counts. */
export function writing(wish: Wish, text: string, was: unknown): { what: string; ops: Op[] } | null {
  const typed = text.trim();
  if (typed === textOf(was)) return null;
  const path = [...wish.path];
  if (typed === "") return { what: `Take away: ${wish.label.toLowerCase()}`, ops: [{ op: "drop", path }] };
  const value = wish.list ? parts(typed) : typed;
  return {
    what: `${wish.label}: ${typed}`.slice(0, 200),
    ops: [{ op: "put", path, value, was: (was ?? null) as Extract<Op, { op: "put" }>["was"] }],
  };
}

/** Values between commas or semicolons. */
export function parts(text: string): string[] {
  return text
    .split(/[,;]/)
    .map((part) => part.trim())
    .filter((part) => part !== "");
}

/**
 * Lead as pieces or as sheet: the file may say one of them, not both. `kept` are the pieces that stood there before sheet
 * was chosen, so that choosing pieces again brings them back.
 */
export function leadAs(
  kind: "pieces" | "sheet",
  lead: { sheet: boolean; pieces: string[]; kept: string[] },
): { what: string; ops: Op[] } | null {
  const [sheet, pieces] = [
    ["trim", "lead", "sheet"],
    ["trim", "lead", "pieces"],
  ];
  const ops: Op[] = [];
  if (kind === "sheet") {
    if (lead.pieces.length > 0) ops.push({ op: "drop", path: pieces });
    if (!lead.sheet) ops.push({ op: "put", path: sheet, value: true, was: null });
    return ops.length > 0 ? { what: "Lead cut from sheet", ops } : null;
  }
  if (lead.sheet) ops.push({ op: "drop", path: sheet });
  if (lead.pieces.length === 0 && lead.kept.length > 0)
    ops.push({ op: "put", path: pieces, value: lead.kept, was: null });
  return ops.length > 0 ? { what: "Lead in pieces", ops } : null;
}
