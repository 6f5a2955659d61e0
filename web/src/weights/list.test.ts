import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { NO_CONTACT } from "../frame/api";
import { BoatStore } from "../frame/boat.svelte";
import { messages } from "../frame/messages.svelte";
import type { WeightRow } from "../frame/shapes";
import { list, row } from "./fixtures";
import { WeightList } from "./list.svelte";

/** A server with a list of one battery; each cell that it takes makes a revision. */
class FakeServer {
  revision = 4;
  mass = "506 g";
  status = 200;
  down = false;
  cells: Record<string, unknown>[] = [];

  readonly fetch = async (where: RequestInfo | URL, how?: RequestInit): Promise<Response> => {
    await Promise.resolve();
    if (this.down) throw new TypeError("Failed to fetch");
    const path = String(where);
    if (how?.method === "POST") {
      const cell = JSON.parse(String(how.body)) as Record<string, unknown>;
      this.cells.push(cell);
      if (this.status !== 200) {
        return new Response(JSON.stringify({ advice: [{ ...NO_CONTACT, what: "Not so." }] }), {
          status: this.status,
        });
      }
      this.mass = String(cell.text);
      this.revision += 1;
    }
    if (path.endsWith("/weights"))
      return new Response(JSON.stringify({ ...list([this.battery]), revision: this.revision }));
    return new Response(JSON.stringify({ boat: "wren", name: "Wren", revision: this.revision, values: {} }));
  };

  get battery(): WeightRow {
    return row(0, { name: "battery", mass: this.mass });
  }
}

let server: FakeServer;
let store: BoatStore;
let weights: WeightList;

beforeEach(async () => {
  server = new FakeServer();
  vi.stubGlobal("fetch", server.fetch);
  store = new BoatStore("wren");
  weights = new WeightList(store);
  await store.refresh();
  await weights.fetch();
});

afterEach(() => {
  vi.unstubAllGlobals();
  messages.list = [];
});

function battery(): WeightRow {
  const found = weights.now?.rows[0];
  if (!found) throw new Error("The list is empty.");
  return found;
}

describe("a cell", () => {
  it("goes to the server as typed, with what was seen, and shows at once", async () => {
    const writing = weights.write(battery(), "mass", "20 oz");
    expect(weights.typed("part[1]", "mass")).toBe("20 oz");
    expect(await writing).toBe(true);
    expect(server.cells).toMatchObject([
      { base: 4, table: "part", row: 0, row_name: "battery", column: "mass", text: "20 oz", was: "506 g" },
    ]);
    expect(weights.typed("part[1]", "mass")).toBeUndefined();
    expect(battery().cells.mass?.text).toBe("20 oz");
    expect(store.state?.revision).toBe(5);
  });

  it("that says the same is no step", async () => {
    expect(await weights.write(battery(), "mass", "506 g")).toBe(true);
    expect(server.cells).toEqual([]);
  });

  it("is written with the revision that the builder looked at, however new the list is by then", async () => {
    const before = battery();
    server.revision = 9;
    await weights.fetch();
    await weights.write(before, "mass", "20 oz", 4);
    expect(server.cells[0]).toMatchObject({ base: 4, was: "506 g" });
  });

  it("typed over by another hand is kept and offered, not lost", async () => {
    server.status = 409;
    expect(await weights.write(battery(), "mass", "20 oz")).toBe(false);
    expect(store.unmade).toMatchObject({
      reason: "changed",
      ops: [{ op: "put", path: ["part", 0, "mass"], value: "20 oz", was: "506 g", row_name: "battery" }],
    });
  });

  it("typed without contact is kept too, and the list stays readable", async () => {
    server.down = true;
    expect(await weights.write(battery(), "mass", "20 oz")).toBe(false);
    expect(store.unmade).toMatchObject({ reason: "no contact", ops: [{ value: "20 oz" }] });
    expect(store.contact).toBe(false);
    expect(battery().cells.mass?.text).toBe("506 g");
    expect(weights.refusal).toBeNull();
  });

  it("that the server refuses is told with its advice, what was typed in it", async () => {
    server.status = 422;
    expect(await weights.write(battery(), "mass", "20 oz")).toBe(false);
    expect(messages.list[0]?.text).toContain("20 oz");
    expect(messages.list[0]?.advice[0]?.what).toBe("Not so.");
  });

  it("waits for the one before it, in the order of typing", async () => {
    await Promise.all([weights.write(battery(), "mass", "1 oz"), weights.write(battery(), "mass", "2 oz")]);
    expect(server.cells.map((cell) => cell.text)).toEqual(["1 oz", "2 oz"]);
    expect(battery().cells.mass?.text).toBe("2 oz");
  });
});
