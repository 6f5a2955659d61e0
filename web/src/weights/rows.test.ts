import { describe, expect, it } from "vitest";
import { asTable, isSingle } from "./clipboard";
import { choicesOf, columnsFrom } from "./columns";
import { advice, list, row } from "./fixtures";
import { bySize, drawn } from "./grid";
import { faultsOf, kindsOf, matching, ordered, typable } from "./rows";
import { adding, copying, deleting, NOTHING_YET } from "./steps";

const battery = row(0, { name: "battery", kind: "inside", mass: "506 g", inside: "cylinder" });
const cap = row(1, { name: "fore cap", kind: "inside", mass: "76 g" });
const bar = row(2, { name: "keel bar", kind: "solid", mass: "" }, { from_trim: true });
const tank = row(0, { name: "main" }, { table: "tank", key: "tank[1]" });
const skin = row(0, { name: "hull skin" }, { table: "skin", key: "hull.skin" });
const rows = [battery, cap, bar, tank];

describe("the list", () => {
  it("finds rows that hold every word, in any cell", () => {
    expect(matching(rows, "inside CYL", "all")).toEqual([battery]);
  });

  it("keeps one kind, tanks among them", () => {
    expect(matching(rows, "", "inside")).toEqual([battery, cap]);
    expect(matching(rows, "", "tank")).toEqual([tank]);
  });

  it("counts each kind in the order in which it first stands in the file", () => {
    expect(kindsOf(rows)).toEqual([
      { kind: "inside", count: 2 },
      { kind: "solid", count: 1 },
      { kind: "tank", count: 1 },
    ]);
  });

  it("names every faulty cell and shows faulty rows alone when asked", () => {
    const wrong = row(3, { name: "servo", mass: "fish" });
    if (wrong.cells.mass) wrong.cells.mass = { ...wrong.cells.mass, advice: [advice("This is no mass.")] };
    expect(faultsOf([battery, wrong])).toMatchObject([{ key: "part[4]", name: "servo", column: "mass" }]);
    expect(matching([battery, wrong], "", "faults")).toEqual([wrong]);
  });

  it("is put in order without changing the file's own", () => {
    expect(ordered(rows, "heaviest").map((one) => one.key)).toEqual([
      "part[1]",
      "part[2]",
      "part[3]",
      "tank[1]",
    ]);
    expect(ordered(rows, "name")[0]).toBe(battery);
    expect(ordered(rows, "file")).toEqual(rows);
  });

  it("lets nobody type where there is no cell", () => {
    expect(typable(tank, "material")).toBe(false);
    expect(typable(battery, "mass")).toBe(true);
  });
});

describe("steps on rows", () => {
  it("delete from the last row to the first, so that no row moves under the next op", () => {
    expect(deleting([battery, bar, cap])?.ops).toEqual([
      { op: "drop", path: ["part", 2] },
      { op: "drop", path: ["part", 1] },
      { op: "drop", path: ["part", 0] },
    ]);
  });

  it("copy each row once and leave the skin out", () => {
    expect(copying([battery, skin])).toEqual({
      what: "Copy battery",
      ops: [{ op: "copy row", table: "part", row: 0 }],
    });
    expect(copying([skin])).toBeNull();
  });

  it("add a part as typed, and nothing that was not typed", () => {
    const step = adding({
      ...NOTHING_YET,
      name: "horn",
      kind: "inside",
      inside: "cylinder",
      mass: "7 oz",
      x: "3 in",
      z: "1 in",
    });
    expect(step.ops).toEqual([
      {
        op: "add row",
        table: "part",
        values: {
          name: "horn",
          kind: "inside",
          inside: "cylinder",
          at: ["3 in", 0, "1 in"],
          mass: { value: "7 oz", known: "weighed" },
        },
      },
    ]);
    expect(adding({ ...NOTHING_YET, name: "x" }).ops[0]).not.toHaveProperty("values.mass");
  });

  it("write a shape with the lengths that belong to it", () => {
    const step = adding({
      ...NOTHING_YET,
      name: "rod",
      kind: "solid",
      shape: "cylinder",
      length: "60 mm",
      width: "3 mm",
      height: "9 mm",
    });
    expect(step.ops[0]).toHaveProperty("values.shape", { cylinder: { length: "60 mm", diameter: "3 mm" } });
  });
});

describe("the clipboard", () => {
  it("holds headings and rows with tabs between, quoted where a cell would break the table", () => {
    const noted = row(1, { name: 'cap "A"', note: "one\ntwo" });
    const columns = columnsFrom([]).filter(({ column }) => column === "name" || column === "note");
    expect(asTable([battery, noted], columns)).toBe('name\tnote\nbattery\t\n"cap ""A"""\t"one\ntwo"\n');
  });

  it("tells a single value from a table", () => {
    expect(isSingle("7 oz\n")).toBe(true);
    expect(isSingle("a\tb")).toBe(false);
    expect(isSingle("a\nb")).toBe(false);
  });
});

describe("a cell", () => {
  it("carries its advice in sight as a sign and in words for a screen reader", () => {
    const cell = {
      text: "fish",
      path: ["part", 0, "mass"],
      value: "fish",
      assumed: "",
      advice: [advice("This is no mass.")],
    };
    const shown = drawn("fish", cell);
    expect(shown.querySelector(".mark")?.textContent).toBe("!");
    expect(shown.textContent).toContain('To put right: This is no mass. Write it like "310 g".');
  });

  it("shows what counts where nothing is written, and says so", () => {
    const cell = { text: "", path: ["part", 0, "spread"], value: null, assumed: "1 g, weighed", advice: [] };
    expect(drawn("", cell).textContent).toBe("1 g (assumed: weighed)");
    expect(drawn("2 g", cell).textContent).toBe("2 g");
  });
});

describe("sorting", () => {
  it("keeps what has no size last, whichever way", () => {
    const sizes = [3, null, 1];
    // The grid turns the answer round when it sorts downwards.
    expect([...sizes].sort((a, b) => bySize(a, b, false))).toEqual([1, 3, null]);
    expect([...sizes].sort((a, b) => -bySize(a, b, true))).toEqual([3, 1, null]);
  });
});

describe("columns", () => {
  it("offer a tank its systems and a part its kinds, and a way to take a word out again", () => {
    const all = list([]);
    expect(choicesOf(tank, "kind", all)).toEqual(all.systems);
    expect(choicesOf(battery, "kind", all)).toEqual(all.kinds);
    expect(choicesOf(battery, "known", all)[0]).toBe("");
  });

  it("speak from the builder's own zeros", () => {
    const headings = columnsFrom(["from the stern", "to port", "over the axis"]).map((one) => one.heading);
    expect(headings).toContain("x from stern");
    expect(headings).toContain("z over axis");
  });
});
