/** The paper of two small side views: one scale for both, so that the longer boat looks longer. */
import type { CompareView } from "../frame/shapes";

export interface Box {
  left: number;
  top: number;
  width: number;
  height: number;
}

/** Room round a view [m, y downwards], as large as the larger of the two wants it. */
export function boxOf(view: CompareView, beside: CompareView): Box {
  const length = Math.max(...[view, beside].map((one) => one.high_m[0] - one.low_m[0]));
  const tall = Math.max(...[view, beside].map((one) => one.high_m[1] - one.low_m[1]));
  const pad = 0.07 * length;
  return {
    left: view.low_m[0] - pad,
    top: -(view.low_m[1] + tall) - pad,
    width: length + 2 * pad,
    height: tall + 2 * pad,
  };
}

/** Loops as a path, z upwards. */
export function loopsOf(loops: CompareView["outline"]): string {
  return loops
    .map((loop) => `${loop.map(([x, z], index) => `${index ? "L" : "M"}${x} ${z === 0 ? 0 : -z}`).join("")}Z`)
    .join("");
}
