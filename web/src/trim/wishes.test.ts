// @vitest-environment node
import { describe, expect, it } from "vitest";
import type { AdviceOut } from "../frame/shapes";
import { adviceOn, keyOf, leadAs, textOf, WISHES, writing } from "./wishes";

const advice = (key: string): AdviceOut => ({
  what: "Wrong.",
  todo: "Put it right.",
  where: "boat.toml",
  key,
  given: "",
  allowed: "",
  severity: "error",
});

describe("a wish", () => {
  it("is written as typed, in whatever unit", () => {
    expect(writing(WISHES.lift, " 0.5 oz ", "12 g")).toEqual({
      what: "Lift when dived: 0.5 oz",
      ops: [{ op: "put", path: ["trim", "lift_dived"], value: "0.5 oz", was: "12 g" }],
    });
  });

  it("is left alone when nothing changed", () => {
    expect(writing(WISHES.pieces, "5 g, 10 g", ["5 g", "10 g"])).toBeNull();
  });

  it("writes pieces as a list, whatever stands between them", () => {
    const step = writing(WISHES.pieces, "5 g; 10 g,, 1/2 oz", ["5 g"]);
    expect(step?.ops[0]).toMatchObject({ op: "put", value: ["5 g", "10 g", "1/2 oz"], was: ["5 g"] });
  });

  it("is taken away when nothing is typed", () => {
    expect(writing(WISHES.sheet, "", "10 mm")).toEqual({
      what: "Take away: foam sheet",
      ops: [{ op: "drop", path: ["trim", "foam", "sheet"] }],
    });
  });

  it("says that nothing stood there before", () => {
    expect(writing(WISHES.bg, "5 mm", null)?.ops[0]).toMatchObject({ was: null });
  });

  it("finds the advice on itself and on what lies below it, and no other", () => {
    const all = [advice("trim.lead.pieces[1]"), advice("trim.lead.pieces"), advice("trim.lead.pieces_more")];
    expect(adviceOn(WISHES.pieces.path, all)).toEqual(all.slice(0, 2));
  });

  it("is named as the boat file's advice names it", () => {
    expect(keyOf(["place", 2, "rail", "from"])).toBe("place[3].rail.from");
  });

  it("shows nothing for a key that is not there", () => {
    expect(textOf(undefined)).toBe("");
    expect(textOf(0)).toBe("0");
  });
});

describe("lead", () => {
  const [sheet, pieces] = [
    ["trim", "lead", "sheet"],
    ["trim", "lead", "pieces"],
  ];

  it("from sheet takes the pieces out in the same step, since the file may not say both", () => {
    expect(leadAs("sheet", { sheet: false, pieces: ["5 g"], kept: [] })?.ops).toEqual([
      { op: "drop", path: pieces },
      { op: "put", path: sheet, value: true, was: null },
    ]);
  });

  it("in pieces brings back those that stood there", () => {
    expect(leadAs("pieces", { sheet: true, pieces: [], kept: ["5 g", "10 g"] })?.ops).toEqual([
      { op: "drop", path: sheet },
      { op: "put", path: pieces, value: ["5 g", "10 g"], was: null },
    ]);
  });

  it("that is so already is no step", () => {
    expect(leadAs("sheet", { sheet: true, pieces: [], kept: [] })).toBeNull();
    expect(leadAs("pieces", { sheet: false, pieces: ["5 g"], kept: ["2 g"] })).toBeNull();
  });
});
