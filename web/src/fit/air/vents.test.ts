import { describe, expect, it } from "vitest";
import type { VentOut } from "../../frame/shapes";
import { making, together } from "./vents";

const NEW: VentOut = {
  title: "New vent",
  place: "",
  size: "3.0 mm wide",
  row: null,
  at: ["10 mm", "5 mm", "90 mm"],
  area: "7.1 mm^2",
  pair: 1,
  at_m: [0, 0, 0],
};
const OTHER = { ...NEW, at: ["10 mm", "-5 mm", "90 mm"] };
const LARGER = { ...NEW, title: "Make opening 2 larger", row: 1, area: "240 mm^2", pair: 2 };
const ROWS = [
  { at: ["1 mm", 0, 0], area: "60 mm^2" },
  { at: ["2 mm", 0, 0], area: "60 mm^2" },
];
const valueAt = (path: readonly (string | number)[]) => (path.join(".") === "hull.openings" ? ROWS : null);

describe("vents", () => {
  it("keeps a pair together", () => {
    expect(together([NEW, OTHER, LARGER])).toEqual([[NEW, OTHER], [LARGER]]);
  });

  it("writes new ones behind the openings that are there, and larger ones in their rows", () => {
    expect(making([LARGER, NEW, OTHER], valueAt).ops).toEqual([
      { op: "put", path: ["hull", "openings", 1, "area"], value: "240 mm^2", was: "60 mm^2" },
      { op: "put", path: ["hull", "openings", 2], value: { at: NEW.at, area: NEW.area }, was: null },
      { op: "put", path: ["hull", "openings", 3], value: { at: OTHER.at, area: NEW.area }, was: null },
    ]);
  });

  it("begins the list where there is none", () => {
    expect(making([NEW], () => null).ops).toEqual([
      { op: "put", path: ["hull", "openings"], value: [{ at: NEW.at, area: NEW.area }], was: null },
    ]);
  });
});
