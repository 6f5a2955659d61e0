import { describe, expect, it } from "vitest";
import type { AdviceOut, StarterPart } from "../frame/shapes";
import { draft, Draft, made } from "./draft.svelte";
import { adviceElsewhere, adviceOn, grouped } from "./sorted";

function part(name: string, group: string, usual: boolean): StarterPart {
  return { part: name, name, group, size: "", mass: "", about: "", usual };
}

const PARTS = [part("cylinder", "hull", true), part("battery", "power", true), part("tank", "hull", false)];

function fault(key: string): AdviceOut {
  return { what: "w", todo: "t", where: "", key, given: "", allowed: "", severity: "error" };
}

describe("a boat about to be made", () => {
  it("needs nothing but a name", () => {
    const boat = new Draft();
    expect(boat.missing()).toBe("Give her a name first.");
    boat.name = " Teal ";
    expect(boat.missing()).toBe("");
    expect(boat.wish(PARTS)).toEqual({
      name: "Teal",
      units: "metric",
      hull: { source: "size", length: "900 mm", beam: "110 mm", height: "120 mm", form: "round" },
      skin: "",
      skin_material: "GRP",
      waterline: "",
      parts: ["cylinder", "battery"],
    });
  });

  it("takes her main sizes and waterline from a scale", () => {
    const boat = new Draft();
    boat.source = "upload";
    boat.begin({ length: "1291.667 mm", beam: "129.167 mm", height: "111.979 mm", waterline: "89.583 mm" });
    expect(boat.source).toBe("size");
    expect({ ...boat.sizes }).toEqual({ length: "1291.667 mm", beam: "129.167 mm", height: "111.979 mm" });
    expect(boat.waterline).toBe("89.583 mm");
  });

  it("changes untouched sizes with the units and keeps typed ones", () => {
    const boat = new Draft();
    boat.sizes.beam = "105 mm";
    boat.measure("inch");
    expect({ ...boat.sizes }).toEqual({ length: "36 in", beam: "105 mm", height: "4.8 in" });
    boat.measure("metric");
    expect({ ...boat.sizes }).toEqual({ length: "900 mm", beam: "105 mm", height: "120 mm" });
  });

  it("takes ticks that were changed over the usual ones", () => {
    const boat = new Draft();
    boat.ticks.battery = false;
    boat.ticks.tank = true;
    expect(boat.wish(PARTS)?.parts).toEqual(["cylinder", "tank"]);
  });

  it("asks for a file before it wishes for a hull from one, and brings the demo boat whole", () => {
    const boat = new Draft();
    boat.name = "Teal";
    boat.source = "upload";
    expect(boat.missing()).toBe("Choose a file first.");
    expect(boat.wish(PARTS)).toBeNull();
    boat.source = "demo";
    expect(boat.wish(PARTS)).toMatchObject({ hull: { source: "demo" }, parts: [] });
  });

  it("is kept until she is made", () => {
    draft().name = "Teal";
    expect(draft().name).toBe("Teal");
    made();
    expect(draft().name).toBe("");
  });

  it("sorts advice to its fields and shows the rest", () => {
    const advice = [fault("name"), fault("hull.length"), fault("unit")];
    expect(adviceOn("hull.length", advice)).toEqual([advice[1]]);
    expect(adviceElsewhere(["name", "hull.length"], advice)).toEqual([advice[2]]);
  });

  it("groups parts in the order of the list", () => {
    expect(grouped(PARTS).map((one) => [one.group, one.parts.map((each) => each.part)])).toEqual([
      ["hull", ["cylinder", "tank"]],
      ["power", ["battery"]],
    ]);
  });
});
