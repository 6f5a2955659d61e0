// @vitest-environment node
import { describe, expect, it } from "vitest";
import {
  addingPlace,
  changingPlace,
  draftOf,
  fieldsOf,
  formOf,
  namesIn,
  placesIn,
  renaming,
  tableOf,
  type PlaceTable,
} from "./places";

const box: PlaceTable = {
  name: "keel",
  for: "lead",
  low: ["10 mm", "-5 mm", 0],
  high: ["60 mm", "5 mm", "4 mm"],
};
const rail: PlaceTable = {
  name: "bilge",
  rail: { from: ["1 in", 0, 0], to: ["5 in", 0, 0] },
  size: ["10 mm", "8 mm", "3 mm"],
  most: "20 g",
};

describe("a place", () => {
  it.each([
    [box, "corners"],
    [rail, "rail"],
    [{ name: "a", at: ["1 mm", 0, 0], size: ["1 mm", "1 mm", "1 mm"] }, "middle"],
    [{ name: "a", at: ["1 mm", 0, 0], most: "20 g" }, "point"],
  ] as [PlaceTable, string][])("is known by its keys", (place, form) => {
    expect(formOf(place)).toBe(form);
  });

  it.each([box, { ...rail, for: "both" } as PlaceTable])(
    "comes back from the form as it went in",
    (place) => {
      expect(tableOf(draftOf(place))).toEqual(place);
    },
  );

  it("changes only the key that was typed over", () => {
    const draft = draftOf(box);
    draft.texts.high = ["2 1/2 in", "5 mm", "4 mm"];
    expect(changingPlace(3, box, draft)).toEqual({
      what: "Change place keel",
      ops: [
        {
          op: "put",
          path: ["place", 3, "high"],
          value: ["2 1/2 in", "5 mm", "4 mm"],
          was: box.high,
          row_name: "keel",
        },
      ],
    });
  });

  it("drops what another form does not have", () => {
    const draft = {
      ...draftOf(box),
      form: "point" as const,
      texts: { at: ["30 mm", "0", "2 mm"], most: ["50 g"] },
    };
    const ops = changingPlace(0, box, draft)?.ops ?? [];
    expect(ops.filter((op) => op.op === "drop").map((op) => op.path)).toEqual([
      ["place", 0, "low"],
      ["place", 0, "high"],
    ]);
    // The plain 0 stays a number: the boat file takes no "0" without a unit as text.
    expect(ops).toContainEqual(
      expect.objectContaining({ path: ["place", 0, "at"], value: ["30 mm", 0, "2 mm"] }),
    );
  });

  it("is no edit when nothing changed", () => {
    expect(changingPlace(1, rail, draftOf(rail))).toBeNull();
  });

  it("takes its new name into the lists that name it, and into no other", () => {
    const values = { trim: { lead: { places: ["keel", "bilge"] }, foam: { places: "auto" } } };
    expect(renaming(values, "keel", "fore keel")).toEqual([
      { op: "put", path: ["trim", "lead", "places"], value: ["fore keel", "bilge"], was: ["keel", "bilge"] },
    ]);
    expect(renaming(values, "keel", "keel")).toEqual([]);
    expect(renaming({}, "keel", "fore keel")).toEqual([]);
  });

  it("is added as a row of its own", () => {
    const step = addingPlace(draftOf(box));
    expect(step.ops).toEqual([{ op: "add row", table: "place", values: box }]);
  });

  it("asks for one more length only where there is a limit", () => {
    expect(fieldsOf("point").filter((field) => field.path[0] === "most")).toHaveLength(1);
    expect(fieldsOf("rail").at(-1)?.label).toBe("Most lead at each spot");
  });

  it("is read from a file that is half written", () => {
    expect(placesIn({ place: [box, "nonsense"] })).toEqual([box, {}]);
    expect(placesIn({ place: "nonsense" })).toEqual([]);
  });

  it("knows found places from named ones", () => {
    expect(namesIn("auto")).toBe("auto");
    expect(namesIn(["keel"])).toEqual(["keel"]);
    expect(namesIn(undefined)).toBeNull();
  });
});
