import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { address, get, NO_CONTACT, post, Refusal, UNPAIRED } from "./api";

const fetched = vi.fn<typeof fetch>();

beforeEach(() => vi.stubGlobal("fetch", fetched));
afterEach(() => {
  vi.unstubAllGlobals();
  fetched.mockReset();
});

function answer(status: number, body: unknown): Response {
  return new Response(typeof body === "string" ? body : JSON.stringify(body), { status });
}

async function refusalOf(promise: Promise<unknown>): Promise<Refusal> {
  const error: unknown = await promise.then(
    () => null,
    (reason: unknown) => reason,
  );
  if (!(error instanceof Refusal)) throw new Error(`no refusal but ${String(error)}`);
  return error;
}

describe("an address", () => {
  it("has its names and query filled in, each as one part", () => {
    const path = { boat: "a/b ?", step: 3 };
    expect(address("/api/boats/{boat}/steps/{step}/difference", { path, query: { against: 7 } })).toBe(
      "/api/boats/a%2Fb%20%3F/steps/3/difference?against=7",
    );
    expect(address("/api/boats/{boat}/tank", { path: { boat: "wren" }, query: { bore: undefined } })).toBe(
      "/api/boats/wren/tank",
    );
  });

  it("is not made without them", () => {
    expect(() => address("/api/boats/{boat}")).toThrow("/api/boats/{boat} needs boat");
  });
});

describe("a call", () => {
  it("sends JSON and gives what came back", async () => {
    fetched.mockResolvedValue(answer(200, { boat: "wren" }));
    const body = { name: "Wren", hull: { source: "demo" as const } };
    await expect(post("/api/boats", { body })).resolves.toEqual({ boat: "wren" });
    const [where, how] = fetched.mock.calls[0] ?? [];
    expect(where).toBe("/api/boats");
    expect(how?.method).toBe("POST");
    expect(how?.headers).toMatchObject({ "content-type": "application/json" });
    expect(JSON.parse(String(how?.body))).toEqual(body);
  });

  it("sends bytes as they are", async () => {
    fetched.mockResolvedValue(answer(200, { boat: "wren" }));
    const zip = new Blob(["PK"]);
    await post("/api/boats/zip", { body: zip });
    const how = fetched.mock.calls[0]?.[1];
    expect(how?.body).toBe(zip);
    expect(how?.headers).toMatchObject({ "content-type": "application/octet-stream" });
  });

  it("refused brings all the advice at once", async () => {
    const advice = [
      { ...NO_CONTACT, what: "A fault." },
      { ...NO_CONTACT, what: "Another." },
    ];
    fetched.mockResolvedValue(answer(409, { advice }));
    const refusal = await refusalOf(get("/api/boats", {}));
    expect(refusal.advice).toEqual(advice);
    expect([refusal.stale, refusal.unpaired, refusal.noContact]).toEqual([true, false, false]);
    expect(refusal.message).toBe("A fault. Another.");
  });

  it("refused without our own body is told with what was said", async () => {
    fetched.mockResolvedValue(answer(502, "<h1>gateway</h1>"));
    const refusal = await refusalOf(get("/api/boats", {}));
    expect(refusal.status).toBe(502);
    expect(refusal.advice[0]?.what).toContain("502");
    expect(refusal.advice[0]?.given).toBe("<h1>gateway</h1>");
  });

  it("without a network is no contact, and one that was given up is neither", async () => {
    fetched.mockRejectedValueOnce(new TypeError("Failed to fetch"));
    expect((await refusalOf(get("/api/boats", {}))).noContact).toBe(true);
    // the head of an answer has come, and the line breaks in its body
    for (const status of [200, 422]) {
      const body = new ReadableStream({
        pull: (stream) => {
          stream.error(new TypeError("Failed to fetch"));
        },
      });
      fetched.mockResolvedValueOnce(new Response(body, { status }));
      expect((await refusalOf(get("/api/boats", {}))).noContact).toBe(true);
    }
    fetched.mockRejectedValueOnce(new DOMException("given up", "AbortError"));
    await expect(get("/api/boats", {})).rejects.toMatchObject({ name: "AbortError" });
  });

  it("of a device that is let in no longer tells the window", async () => {
    const heard = vi.fn();
    window.addEventListener(UNPAIRED, heard, { once: true });
    fetched.mockResolvedValue(answer(401, { advice: [NO_CONTACT] }));
    await refusalOf(get("/api/boats", {}));
    expect(heard).toHaveBeenCalledOnce();
  });
});
