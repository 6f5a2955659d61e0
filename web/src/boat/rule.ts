/** The builder's ruler: where its zeros lie on the drawing, what its ticks say, and the steps that keys take. */

import type { BoatState, DatumOut } from "../frame/shapes";
import type { Vec3 } from "../scene/vectors";

export type UnitSet = BoatState["units"];

export interface Rule {
  unit: string;
  /** Length of one unit [m]. */
  metres: number;
  /** What an arrow key moves [m]. */
  step: number;
  stepText: string;
}

const INCH = 0.0254;

export function ruleOf(units: UnitSet): Rule {
  return units === "inch"
    ? { unit: "in", metres: INCH, step: INCH / 16, stepText: "1/16 in" }
    : { unit: "mm", metres: 0.001, step: 0.001, stepText: "1 mm" };
}

export interface Tick {
  /** House coordinate [m]. */
  at: number;
  /** Empty for a fine tick. */
  text: string;
  zero: boolean;
}

/** The smallest of 1, 2, 5 times a power of ten that is at least `least` > 0. */
export function tickStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((step) => step * power).find((step) => step >= least * (1 - 1e-9)) ?? 10 * power;
}

/** Ticks between two house coordinates [m], counted from the builder's zero; the long ones at least `room` [m] apart. */
export function ticks(
  ends: readonly [number, number],
  origin: number,
  sign: number,
  rule: Rule,
  room: number,
): Tick[] {
  const step = tickStep(room / rule.metres);
  const fine = step / 5;
  const [low, high] = ends.map((end) => (sign * (end - origin)) / rule.metres).sort((a, b) => a - b) as [
    number,
    number,
  ];
  const list: Tick[] = [];
  for (let count = Math.ceil(low / fine - 1e-6); count <= Math.floor(high / fine + 1e-6); count += 1) {
    const whole = count % 5 === 0;
    const amount = Number(((count / 5) * step).toPrecision(10));
    list.push({
      at: origin + sign * count * fine * rule.metres,
      text: whole ? String(amount).replace("-", "−") : "",
      zero: count === 0,
    });
  }
  return list;
}

function amount(metres: number, rule: Rule): string {
  const digits = rule.unit === "in" ? 3 : 1;
  return `${Number((Math.abs(metres) / rule.metres).toFixed(digits))} ${rule.unit}`;
}

/** A shift of the house frame in the builder's words: "12 mm aft, 3 mm up". */
export function shiftText(shift: Vec3, rule: Rule): string {
  const ways: [number, string, string][] = [
    [shift[0], "forward", "aft"],
    [shift[1], "to port", "to starboard"],
    [shift[2], "up", "down"],
  ];
  const parts = ways
    .filter(([way]) => Math.abs(way) >= rule.metres * 0.0005)
    .map(([way, plus, minus]) => `${amount(way, rule)} ${way > 0 ? plus : minus}`);
  return parts.join(", ") || "not moved";
}

/** What the ruler's end says. */
export function zeroText(datum: DatumOut, axis: "x" | "z"): string {
  return axis === "x" ? `from ${datum.x_from}` : `from ${datum.z_from}`;
}
