import { describe, expect, it } from "vitest";
import type { HeelCauseOut, HeelStateOut } from "../../frame/shapes";
import { at, span, within, worst } from "./curve";

function cause(heel_deg: number | null, swings_deg: number | null): HeelCauseOut {
  return {
    name: "",
    over: heel_deg === null,
    moment: "",
    rests: "",
    band: "",
    swings: "",
    bears: "",
    heel_deg,
    swings_deg,
    line_n_m: [],
  };
}

describe("the curve", () => {
  it("reads between two heels and nothing outside", () => {
    expect(at([-2, 0, 2], [-4, 0, 6], 1)).toBeCloseTo(3);
    expect(at([-2, 0, 2], [-4, 0, 6], -2)).toBe(-4);
    expect(at([-2, 0, 2], [-4, 0, 6], 3)).toBeNaN();
    expect(at([-2, 0, 2], [-4, 0, 6], -3)).toBeNaN();
  });

  it("shows all that she does", () => {
    expect(span(null)).toBe(60);
    expect(span(cause(-5, -10))).toBe(40);
    expect(span(cause(25, 47))).toBe(70);
    expect(span(cause(80, 95))).toBe(100);
    expect(span(cause(20, null))).toBe(100);
    expect(within([-50, 0, 50], [1, 2, 3], 40)).toEqual([{ heel: 0, moment: 2 }]);
  });

  it("begins with what takes her furthest", () => {
    const state = { rest_deg: 2, causes: [cause(-5, -9), cause(9, 15), cause(null, null), cause(20, null)] };
    expect(worst(state as unknown as HeelStateOut)).toBe(2);
    expect(worst({ ...state, causes: state.causes.slice(0, 2) } as unknown as HeelStateOut)).toBe(0);
  });
});
