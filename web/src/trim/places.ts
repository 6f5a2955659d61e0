/** Rooms that the builder offers for lead and foam: their forms, their fields, and the ops that write them. */
import type { Op } from "../frame/shapes";
import { textOf } from "./wishes";

export type PlaceForm = "corners" | "middle" | "point" | "rail";
export type PlaceFor = "lead" | "foam" | "both";
type Json = Extract<Op, { op: "put" }>["value"];
export type PlaceTable = Record<string, Json>;

export const FORMS: readonly { form: PlaceForm; label: string }[] = [
  { form: "corners", label: "Box between two corners" },
  { form: "middle", label: "Box round its middle" },
  { form: "point", label: "Point for lead" },
  { form: "rail", label: "Rail of spots" },
];

/** A line of the form: one length, or three. */
export interface PlaceField {
  path: readonly string[];
  label: string;
  three: boolean;
}

const FIELDS: Record<PlaceForm, readonly PlaceField[]> = {
  corners: [
    { path: ["low"], label: "One corner", three: true },
    { path: ["high"], label: "Opposite corner", three: true },
  ],
  middle: [
    { path: ["at"], label: "Middle", three: true },
    { path: ["size"], label: "Length, width, height", three: true },
  ],
  point: [
    { path: ["at"], label: "Point", three: true },
    { path: ["most"], label: "Most lead here", three: false },
  ],
  rail: [
    { path: ["rail", "from"], label: "Middle of the first spot", three: true },
    { path: ["rail", "to"], label: "Middle of the last spot", three: true },
    { path: ["size"], label: "Length, width, height of a spot", three: true },
  ],
};

export function fieldsOf(form: PlaceForm): readonly PlaceField[] {
  const fields = FIELDS[form];
  if (form === "point") return fields;
  return [
    ...fields,
    { path: ["most"], label: form === "rail" ? "Most lead at each spot" : "Most lead here", three: false },
  ];
}

/** The places of the file; anything that is no table is left to the advice. */
export function placesIn(values: Record<string, unknown>): PlaceTable[] {
  const places = values.place;
  if (!Array.isArray(places)) return [];
  return places.map((place: unknown) => asTable(place) as PlaceTable);
}

export function formOf(place: PlaceTable): PlaceForm {
  if ("rail" in place) return "rail";
  if ("low" in place || "high" in place) return "corners";
  return "size" in place ? "middle" : "point";
}

/** As typed in the form, by field. */
export interface PlaceDraft {
  name: string;
  holds: PlaceFor;
  form: PlaceForm;
  /** By the field's path joined with dots; three lengths or one. */
  texts: Record<string, string[]>;
}

export function draftOf(place: PlaceTable): PlaceDraft {
  const form = formOf(place);
  const texts: PlaceDraft["texts"] = {};
  for (const field of fieldsOf(form)) {
    const value = field.path.reduce<unknown>(
      (at, key) => (typeof at === "object" && at !== null ? (at as Record<string, unknown>)[key] : undefined),
      place,
    );
    const list = Array.isArray(value) ? value.map(textOf) : [textOf(value)];
    texts[field.path.join(".")] = field.three
      ? [list[0] ?? "", list[1] ?? "", list[2] ?? ""]
      : [list[0] ?? ""];
  }
  const holds = place.for;
  return {
    name: textOf(place.name),
    holds: holds === "lead" || holds === "foam" ? holds : "both",
    form,
    texts,
  };
}

export const NEW_PLACE: PlaceDraft = { name: "", holds: "both", form: "corners", texts: {} };

export function tableOf(draft: PlaceDraft): PlaceTable {
  const table: PlaceTable = { name: draft.name.trim(), for: draft.holds };
  for (const field of fieldsOf(draft.form)) {
    const typed = draft.texts[field.path.join(".")] ?? [];
    if (typed.every((text) => text.trim() === "")) continue;
    const [outer = "", inner] = field.path;
    const value: Json = field.three
      ? [0, 1, 2].map((axis) => length(typed[axis] ?? ""))
      : length(typed[0] ?? "");
    if (inner === undefined) table[outer] = value;
    else table[outer] = { ...(table[outer] as Record<string, Json> | undefined), [inner]: value };
  }
  return table;
}

/** A bare 0 is zero in any unit. */
function length(text: string): string | number {
  return text.trim() === "0" ? 0 : text.trim();
}

export function addingPlace(draft: PlaceDraft): { what: string; ops: Op[] } {
  return {
    what: `Add place ${draft.name.trim()}`,
    ops: [{ op: "add row", table: "place", values: tableOf(draft) }],
  };
}

/** Key by key, so that comments and other keys of the row stay. */
export function changingPlace(
  row: number,
  before: PlaceTable,
  draft: PlaceDraft,
): { what: string; ops: Op[] } | null {
  const after = tableOf(draft);
  const ops: Op[] = [];
  for (const [key, value] of Object.entries(after)) {
    if (JSON.stringify(before[key]) === JSON.stringify(value)) continue;
    if (key === "for" && before.for === undefined && value === "both") continue;
    ops.push({
      op: "put",
      path: ["place", row, key],
      value,
      was: before[key] ?? null,
      row_name: textOf(before.name) || null,
    });
  }
  for (const key of ["low", "high", "at", "size", "rail", "most"]) {
    if (key in before && !(key in after)) ops.push({ op: "drop", path: ["place", row, key] });
  }
  return ops.length > 0 ? { what: `Change place ${draft.name.trim()}`, ops } : null;
}

/** A place that gets another name keeps its part in the lists that name it. */
export function renaming(values: Readonly<Record<string, unknown>>, before: string, after: string): Op[] {
  if (before === after) return [];
  return (["lead", "foam"] as const).flatMap((material): Op[] => {
    const trim = asTable(values.trim);
    const names = namesIn(asTable(trim[material]).places);
    if (!Array.isArray(names) || !names.includes(before)) return [];
    const value = names.map((name) => (name === before ? after : name));
    return [{ op: "put", path: ["trim", material, "places"], value, was: names }];
  });
}

function asTable(value: unknown): Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value)
    ? (value as Record<string, unknown>)
    : {};
}

/** Which places a material may go to: found by Dabchick, every one given, or some by name. */
export function namesIn(value: unknown): string[] | "auto" | null {
  if (value === "auto") return "auto";
  if (Array.isArray(value)) return value.map(textOf);
  return null;
}
