/** The boat's steps in order for reading: which lie behind her, and which were taken back. */
import type { Step } from "../frame/shapes";

/** Numbers of the steps that the boat as she stands was made by: this one, its parent, and so on. */
export function behind(steps: readonly Step[]): ReadonlySet<number> {
  const byNumber = new Map(steps.map((step) => [step.step, step]));
  const line = new Set<number>();
  let at = steps.find((step) => step.here);
  while (at && !line.has(at.step)) {
    line.add(at.step);
    at = at.parent === null ? undefined : byNumber.get(at.parent);
  }
  return line;
}

export interface Day {
  day: string;
  steps: Step[];
}

/** Newest first, by the day on which they were made. */
export function days(steps: readonly Step[], now = new Date()): Day[] {
  const groups: Day[] = [];
  for (const step of steps) {
    const day = dayOf(step.when, now);
    const last = groups.at(-1);
    if (last?.day === day) last.steps.push(step);
    else groups.push({ day, steps: [step] });
  }
  return groups;
}

function dayOf(iso: string, now: Date): string {
  const when = new Date(iso);
  if (when.toDateString() === now.toDateString()) return "Today";
  const yesterday = new Date(now.getFullYear(), now.getMonth(), now.getDate() - 1);
  if (when.toDateString() === yesterday.toDateString()) return "Yesterday";
  const weekday = when.toLocaleDateString("en-GB", { weekday: "long" });
  const date = when.toLocaleDateString("en-GB", { day: "numeric", month: "long" });
  return `${weekday}, ${date}${when.getFullYear() === now.getFullYear() ? "" : ` ${when.getFullYear()}`}`;
}

/** A step in a few words, for choosing it: its name where it has one. */
export function called(step: Step): string {
  return step.name || step.what;
}
