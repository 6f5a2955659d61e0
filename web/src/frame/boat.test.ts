import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { NO_CONTACT } from "./api";
import { BoatStore } from "./boat.svelte";
import { FakeSocket } from "./fake-socket";
import { messages } from "./messages.svelte";
import type { BoatState, Op } from "./shapes";

interface Sent {
  method: string;
  path: string;
  body: Record<string, unknown> | null;
}

/** A server with one boat, kept as a list of texts; edits on an older base are refused. */
class FakeServer {
  revision = 1;
  values: Record<string, unknown> = { name: "Wren", part: [{ mass: "310 g" }] };
  sent: Sent[] = [];
  down = false;
  faulty = false;

  readonly fetch = async (where: RequestInfo | URL, how?: RequestInit): Promise<Response> => {
    await Promise.resolve();
    if (this.down) throw new TypeError("Failed to fetch");
    const body = how?.body ? (JSON.parse(String(how.body)) as Sent["body"]) : null;
    const sent = { method: how?.method ?? "GET", path: String(where), body };
    this.sent.push(sent);
    if (sent.method === "POST") {
      if (body?.base !== this.revision) return this.refuse(409, "Stale.");
      if (this.faulty) return this.refuse(422, "No such part.");
      this.revision += 1;
    }
    return new Response(JSON.stringify(this.state));
  };

  get state(): Partial<BoatState> {
    return {
      boat: "wren",
      name: "Wren",
      revision: this.revision,
      values: this.values as never,
      undo: "Move battery",
      redo: null,
    };
  }

  refuse(status: number, what: string): Response {
    return new Response(JSON.stringify({ advice: [{ ...NO_CONTACT, what }] }), { status });
  }

  get edits(): Sent[] {
    return this.sent.filter((sent) => sent.method === "POST");
  }
}

const OP: Op = { op: "put", path: ["part", 0, "mass"], value: "320 g", was: "310 g" };
let server: FakeServer;
let store: BoatStore;

beforeEach(async () => {
  server = new FakeServer();
  vi.stubGlobal("fetch", server.fetch);
  vi.stubGlobal("WebSocket", FakeSocket);
  FakeSocket.all = [];
  messages.list = [];
  store = new BoatStore("wren");
  await store.open();
});
afterEach(() => {
  store.close();
  vi.unstubAllGlobals();
});

describe("edits", () => {
  it("carry the revision that they were made on, one after the other", async () => {
    const made = await Promise.all([store.edit("First", [OP]), store.edit("Second", [OP])]);
    expect(made).toEqual([true, true]);
    expect(server.edits.map((sent) => [sent.body?.what, sent.body?.base])).toEqual([
      ["First", 1],
      ["Second", 2],
    ]);
    expect(store.state?.revision).toBe(3);
    expect(store.busy).toBe(false);
  });

  it("refused for a fault are told with their advice and not kept", async () => {
    server.faulty = true;
    expect(await store.edit("Move battery", [OP])).toBe(false);
    expect(messages.list.map((one) => [one.text, one.advice[0]?.what])).toEqual([
      ["Move battery: not done", "No such part."],
    ]);
    expect(store.unmade).toBeNull();
    expect(store.state?.revision).toBe(1);
  });

  it("overtaken by another page are kept, with the boat shown anew and who changed her", async () => {
    FakeSocket.last.accept();
    server.revision = 7;
    server.values = { name: "Wren", part: [{ mass: "333 g" }] };
    const editing = store.edit("Weigh battery", [OP]);
    FakeSocket.last.tell({ kind: "changed", revision: 7, what: "Weigh it", by: "phone" });
    expect(await editing).toBe(false);
    expect(store.state?.revision).toBe(7);
    expect(store.unmade).toEqual({ what: "Weigh battery", ops: [OP], by: "phone", reason: "changed" });

    expect(await store.tryAgain()).toBe(true);
    expect(store.unmade).toBeNull();
    // made on what stands there now, having seen it
    const last = server.edits.at(-1)?.body as { base: number; ops: Op[] };
    expect(last.base).toBe(7);
    expect(last.ops).toEqual([{ ...OP, was: "333 g" }]);
  });

  it("made without contact are kept, and made when it is back", async () => {
    server.down = true;
    expect(await store.edit("Weigh battery", [OP])).toBe(false);
    expect([store.contact, store.unmade?.reason]).toEqual([false, "no contact"]);
    server.down = false;
    expect(await store.tryAgain()).toBe(true);
    expect([store.contact, store.unmade]).toEqual([true, null]);
  });

  it("that were left are gone", async () => {
    server.down = true;
    await store.edit("Weigh battery", [OP]);
    store.leave();
    server.down = false;
    expect(await store.tryAgain()).toBe(false);
    expect(server.edits).toHaveLength(0);
  });
});

describe("steps back and forth", () => {
  it("say what they took back, and do nothing where there is nothing", async () => {
    expect(await store.undo()).toBe(true);
    expect(messages.list.map((one) => one.text)).toEqual(["Taken back: Move battery"]);
    expect(await store.redo()).toBe(false);
    expect(server.edits.map((sent) => sent.path)).toEqual(["/api/boats/wren/undo"]);
  });

  it("on an older base show the boat anew and say why", async () => {
    server.revision = 9;
    expect(await store.undo()).toBe(false);
    expect(store.state?.revision).toBe(9);
    expect(messages.list[0]?.advice[0]?.what).toBe("Stale.");
  });
});

describe("changes elsewhere", () => {
  it("are fetched when they are news, and not when they are our own", async () => {
    FakeSocket.last.accept();
    FakeSocket.last.tell({ kind: "changed", revision: 1, what: "Own", by: "laptop" });
    expect(store.elsewhere).toBeNull();
    server.revision = 2;
    FakeSocket.last.tell({ kind: "changed", revision: 2, what: "Weigh it", by: "phone" });
    await vi.waitFor(() => expect(store.state?.revision).toBe(2));
  });

  it("missed while the line was broken are fetched when it stands again", async () => {
    FakeSocket.last.accept();
    server.revision = 5;
    FakeSocket.last.tell({ kind: "hello", revision: 5 });
    await vi.waitFor(() => expect(store.state?.revision).toBe(5));
  });

  it("once the line stands again, what was asked for in vain is asked for again on the same text too", async () => {
    FakeSocket.last.accept();
    const before = store.state;
    store.contact = false;
    FakeSocket.last.tell({ kind: "hello", revision: before?.revision ?? 0 });
    await vi.waitFor(() => expect(store.state).not.toBe(before));
    expect(store.contact).toBe(true);
  });

  it("never put an older text over a newer one", () => {
    store.take({ ...server.state, revision: 8 } as BoatState);
    store.take({ ...server.state, revision: 3 } as BoatState);
    expect(store.state?.revision).toBe(8);
  });
});

it("without contact she is asked for again by herself, until the page is left", async () => {
  vi.useFakeTimers();
  try {
    server.down = true;
    await store.refresh();
    expect(store.contact).toBe(false);
    server.down = false;
    server.revision = 4;
    await vi.advanceTimersByTimeAsync(1000);
    expect([store.contact, store.state?.revision]).toEqual([true, 4]);

    server.down = true;
    await store.refresh();
    store.close();
    server.down = false;
    const asked = server.sent.length;
    await vi.advanceTimersByTimeAsync(60_000);
    expect(server.sent).toHaveLength(asked);
  } finally {
    vi.useRealTimers();
  }
});

it("a boat that is not there is a refusal, and a broken line leaves what is known", async () => {
  server.down = true;
  await store.refresh();
  expect(store.refusal).toBeNull();
  expect(store.state?.revision).toBe(1);

  const other = new BoatStore("grebe");
  vi.stubGlobal("fetch", () => Promise.resolve(server.refuse(404, "No boat grebe.")));
  await other.refresh();
  expect(other.refusal?.advice[0]?.what).toBe("No boat grebe.");
});

it("what stands in the file is found by its path", () => {
  expect(store.valueAt(["part", 0, "mass"])).toBe("310 g");
  expect(store.valueAt(["part", 3, "mass"])).toBeNull();
  expect(store.valueAt(["name", "length"])).toBeNull();
});
