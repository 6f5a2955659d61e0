import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { NO_CONTACT } from "../frame/api";
import { BoatStore } from "../frame/boat.svelte";
import { messages } from "../frame/messages.svelte";
import type { BoatState, JobOut, TrimOut } from "../frame/shapes";
import { holdsTrim, TrimWork, workOn } from "./work.svelte";

const ASK = { sheet: null, gap: 0.01, seconds: 7 };

/** A server whose search ends as it is told to. */
class FakeServer {
  end: JobOut["state"] = "done";
  status = 200;
  fitted = false;
  sent: string[] = [];

  readonly fetch = async (where: RequestInfo | URL, how?: RequestInit): Promise<Response> => {
    await Promise.resolve();
    const what = `${how?.method ?? "GET"} ${String(where)}`;
    this.sent.push(what);
    const advice = [{ ...NO_CONTACT, what: "Not so." }];
    if (what === "POST /api/boats/wren/trim/apply") {
      if (this.status !== 200) return new Response(JSON.stringify({ advice }), { status: this.status });
      this.fitted = true;
      return new Response(JSON.stringify(this.state(8)));
    }
    if (what === "POST /api/boats/wren/trim") return new Response(JSON.stringify(this.job("running")));
    if (what === "GET /api/jobs/j1/trim") return new Response(JSON.stringify({ revision: 7, job: "j1" }));
    if (what === "GET /api/boats/wren/trim") return new Response(JSON.stringify({ revision: 8, job: null }));
    if (what.includes("/api/jobs/j1")) return new Response(JSON.stringify(this.job(this.end)));
    return new Response(JSON.stringify(this.state(7)));
  };

  job(state: JobOut["state"]): JobOut {
    const advice = state === "failed" ? [{ ...NO_CONTACT, what: "No room." }] : [];
    return { job: "j1", what: "Trim of Wren", state, text: "", share: 0, advice };
  }

  state(revision: number): Partial<BoatState> {
    const part = this.fitted ? [{ name: "lead 1", from: "trim" }] : [];
    return { boat: "wren", revision, figures_revision: revision, values: { part } as never };
  }
}

let server: FakeServer;
let work: TrimWork;
let store: BoatStore;

beforeEach(async () => {
  server = new FakeServer();
  vi.stubGlobal("fetch", server.fetch);
  work = new TrimWork("wren");
  store = new BoatStore("wren");
  await store.refresh();
});

afterEach(() => {
  vi.unstubAllGlobals();
  messages.list = [];
});

describe("the search", () => {
  it("brings its answer", async () => {
    await work.solve(ASK);
    expect(work.shown).toMatchObject({ job: "j1" });
    expect(work.running).toBe(false);
  });

  it("that fails says why and shows no answer", async () => {
    server.end = "failed";
    await work.solve(ASK);
    expect(work.trouble[0]?.what).toBe("No room.");
    expect(work.shown).toBeNull();
  });

  it("that is cancelled leaves what the file holds", async () => {
    server.end = "cancelled";
    work.fitted = { revision: 7 } as TrimOut;
    await work.solve(ASK);
    expect(work.shown).toBe(work.fitted);
    expect(messages.list[0]?.text).toContain("cancelled");
  });
});

describe("applying", () => {
  it("writes the answer as one step and then shows what the file holds", async () => {
    await work.solve(ASK);
    await work.apply(store);
    expect(store.state?.revision).toBe(8);
    expect(work.found).toBeNull();
    expect(work.shown).toMatchObject({ revision: 8, job: null });
  });

  it("of an answer for another boat keeps the answer and says so", async () => {
    await work.solve(ASK);
    server.status = 409;
    await work.apply(store);
    expect(work.found).toMatchObject({ job: "j1" });
    expect(messages.list[0]?.advice[0]?.what).toBe("Not so.");
  });

  it("of nothing asks nothing", async () => {
    const before = server.sent.length;
    await work.apply(store);
    expect(server.sent).toHaveLength(before);
  });
});

describe("what the file holds", () => {
  it.each([
    [{ part: [{ name: "a" }, { name: "b", from: "trim" }] }, true],
    [{ part: [{ name: "a" }] }, false],
    [{ part: "nonsense" }, false],
    [{}, false],
  ])("in %j is a trim: %s", (values, wanted) => {
    expect(holdsTrim(values)).toBe(wanted);
  });

  it("is not asked for where it holds none, since that would be refused", async () => {
    const before = server.sent.length;
    await work.look(server.state(7) as BoatState);
    expect(server.sent).toHaveLength(before);
    expect(work.fitted).toBeNull();
  });

  it("is kept while pages change", () => {
    expect(workOn("wren")).toBe(workOn("wren"));
    expect(workOn("wren")).not.toBe(workOn("other"));
  });
});
