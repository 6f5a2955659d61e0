/** Needed and present side by side: one row for each thing that either of them names. */
import type { Line, Shown } from "../frame/shapes";

export interface Beside {
  label: string;
  needed: Shown | null;
  present: Shown | null;
  note: string;
}

export function beside(needed: readonly Line[], present: readonly Line[]): Beside[] {
  const labels = [...new Set([...needed, ...present].map((line) => line.label))];
  return labels.map((label) => {
    const [left, right] = [
      needed.find((line) => line.label === label),
      present.find((line) => line.label === label),
    ];
    const notes = [left?.note, right?.note].filter((note) => note !== undefined && note !== "");
    return {
      label,
      needed: left?.figure ?? null,
      present: right?.figure ?? null,
      note: [...new Set(notes)].join(" "),
    };
  });
}

/** Systems that hold gas under pressure. */
export function holdsGas(values: Readonly<Record<string, unknown>>): boolean {
  const tanks: unknown = values.tank;
  return Array.isArray(tanks) && tanks.some((tank) => isGas(tank));
}

function isGas(tank: unknown): boolean {
  if (typeof tank !== "object" || tank === null || !("system" in tank)) return false;
  return tank.system === "gas blown" || tank.system === "air blown";
}
