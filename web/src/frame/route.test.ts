// @vitest-environment node
import { describe, expect, it } from "vitest";
import { parse, to } from "./route";

describe("addresses", () => {
  it("lead to the shelf, a new boat, pairing, and a boat's pages", () => {
    expect(parse("")).toEqual({ page: "shelf" });
    expect(parse("#/")).toEqual({ page: "shelf" });
    expect(parse("#/new")).toEqual({ page: "new" });
    expect(parse("#/scale")).toEqual({ page: "scale" });
    expect(parse("#/wren/measures")).toEqual({ page: "measures", boat: "wren" });
    expect(parse("#/pair?code=AB12")).toEqual({ page: "pair", code: "AB12" });
    expect(parse("#/wren/weights")).toEqual({ page: "weights", boat: "wren" });
    expect(parse("#/wren/prints")).toEqual({ page: "prints", boat: "wren" });
    expect(parse("#/wren")).toEqual({ page: "boat", boat: "wren" });
  });

  it("can name a boat whose folder is called like a page, or has signs of an address in it", () => {
    expect(parse(to("new"))).toEqual({ page: "boat", boat: "new" });
    for (const boat of ["a/b", "50 %", "Grebe #2", "où?", "../x"]) {
      expect(parse(to(boat, "trim"))).toEqual({ page: "trim", boat });
    }
  });

  it("that lead nowhere say so", () => {
    for (const hash of ["#/wren/engine", "#/wren/trim/more", "#/%E0%A4%A/boat"]) {
      expect(parse(hash)).toEqual({ page: "lost", hash });
    }
  });
});
