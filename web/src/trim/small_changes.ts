/** Lines that stand for one change in several states, as one row a change. */
import type { Line, Shown } from "../frame/shapes";

export interface SmallChanges {
  /** In the order in which they first occur; the note of a line names its state. */
  states: string[];
  rows: { label: string; figures: (Shown | null)[] }[];
}

export function byState(lines: readonly Line[]): SmallChanges {
  const states = [...new Set(lines.map((line) => line.note ?? ""))];
  const labels = [...new Set(lines.map((line) => line.label))];
  return {
    states,
    rows: labels.map((label) => ({
      label,
      figures: states.map(
        (state) => lines.find((line) => line.label === label && (line.note ?? "") === state)?.figure ?? null,
      ),
    })),
  };
}
