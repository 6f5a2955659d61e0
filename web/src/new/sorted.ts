/** Advice, parts and outlines put where the page of a new boat shows them. */

import type { AdviceOut, FormsOut, StarterPart } from "../frame/shapes";

/** Advice on one field, by the key that the server names. */
export function adviceOn(key: string, advice: readonly AdviceOut[]): AdviceOut[] {
  return advice.filter((one) => one.key === key || one.key === `hull.size.${key.replace("hull.", "")}`);
}

/** Advice that no field of the page shows. */
export function adviceElsewhere(keys: readonly string[], advice: readonly AdviceOut[]): AdviceOut[] {
  return advice.filter((one) => !keys.some((key) => adviceOn(key, [one]).length > 0));
}

/** Parts by group, in the order of the list. */
export function grouped(parts: readonly StarterPart[]): { group: string; parts: StarterPart[] }[] {
  const groups = new Map<string, StarterPart[]>();
  for (const part of parts) groups.set(part.group, [...(groups.get(part.group) ?? []), part]);
  return [...groups].map(([group, members]) => ({ group, parts: members }));
}

/** Low and high corner of a form's outlines [m]. */
export function boxOf(form: FormsOut["forms"][number]): {
  low: [number, number, number];
  high: [number, number, number];
} {
  const side = form.outlines.side.flat();
  const top = form.outlines.top.flat();
  const span = (values: number[]): [number, number] => [Math.min(...values), Math.max(...values)];
  const [x, y, z] = [span(side.map(([a]) => a)), span(top.map(([, b]) => b)), span(side.map(([, b]) => b))];
  return { low: [x[0], y[0], z[0]], high: [x[1], y[1], z[1]] };
}
