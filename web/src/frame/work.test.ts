import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { get } from "./api";
import type { JobOut } from "./shapes";
import { Work } from "./work.svelte";

const fetched = vi.fn<typeof fetch>();

beforeEach(() => {
  vi.useFakeTimers();
  vi.stubGlobal("fetch", fetched);
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
  fetched.mockReset();
});

function job(state: JobOut["state"], name = "1"): JobOut {
  const advice = [
    { severity: "error" as const, what: "No.", todo: "", where: "", key: "", given: "", allowed: "" },
  ];
  return { job: name, what: "", state, text: "", share: 0, advice: state === "failed" ? advice : [] };
}

function said(body: unknown, status = 200): Response {
  return new Response(JSON.stringify(body), { status });
}

describe("work", () => {
  it("takes the answer of a long question, and is busy until it is there", async () => {
    const work = new Work();
    const taken: string[] = [];
    fetched.mockResolvedValueOnce(said(job("done")));
    const asked = work.long(
      () => Promise.resolve(job("running")),
      (name) => Promise.resolve(`answer ${name}`),
      (out) => taken.push(out),
    );
    await vi.advanceTimersByTimeAsync(1);
    expect([work.busy, work.watch?.now.state]).toEqual([true, "running"]);
    await vi.advanceTimersByTimeAsync(1000);
    await asked;
    expect(taken).toEqual(["answer 1"]);
    expect([work.busy, work.watch, work.stopped, work.trouble]).toEqual([false, null, false, []]);
  });

  it("says why a long question failed, and that one was stopped by hand", async () => {
    const work = new Work();
    const take = vi.fn();
    const answer = () => Promise.resolve("never");
    fetched.mockResolvedValueOnce(said(job("failed")));
    const failing = work.long(() => Promise.resolve(job("running")), answer, take);
    await vi.advanceTimersByTimeAsync(1000);
    await failing;
    expect(work.trouble.map((one) => one.what)).toEqual(["No."]);
    fetched.mockResolvedValueOnce(said(job("cancelled")));
    const stopping = work.long(() => Promise.resolve(job("running")), answer, take);
    await vi.advanceTimersByTimeAsync(1);
    await work.cancel();
    await vi.advanceTimersByTimeAsync(1000);
    await stopping;
    expect([work.stopped, work.trouble]).toEqual([true, []]);
    expect(take).not.toHaveBeenCalled();
  });

  it("drops what an older question brings, however late", async () => {
    const work = new Work();
    const taken: string[] = [];
    let older: (out: string) => void = () => undefined;
    const slow = work.short(
      () => new Promise<string>((resolve) => (older = resolve)),
      (out) => taken.push(out),
    );
    await vi.advanceTimersByTimeAsync(1);
    await work.short(
      () => Promise.resolve("newer"),
      (out) => taken.push(out),
    );
    older("older");
    await slow;
    expect(taken).toEqual(["newer"]);
    expect(work.busy).toBe(false);
  });

  it("ends an older long question, and takes nothing once the page is left", async () => {
    const work = new Work();
    const take = vi.fn();
    fetched.mockImplementation(() => Promise.resolve(said(job("cancelled"))));
    const first = work.long(
      () => Promise.resolve(job("running")),
      () => Promise.resolve("first"),
      take,
    );
    await vi.advanceTimersByTimeAsync(1);
    const second = work.long(
      () => Promise.resolve(job("running", "2")),
      () => Promise.resolve("second"),
      take,
    );
    await vi.advanceTimersByTimeAsync(1);
    expect(fetched.mock.calls[0]?.[0]).toBe("/api/jobs/1");
    expect(fetched.mock.calls[0]?.[1]?.method).toBe("DELETE");
    work.close();
    await vi.advanceTimersByTimeAsync(1000);
    await Promise.all([first, second]);
    expect(fetched.mock.calls.at(-1)?.[0]).toBe("/api/jobs/2");
    expect(take).not.toHaveBeenCalled();
  });

  it("keeps a refusal's advice until the next short answer is there", async () => {
    const work = new Work();
    fetched.mockResolvedValueOnce(said({ advice: job("failed").advice }, 422));
    await work.short(() => get("/api/boats", {}), vi.fn());
    expect(work.trouble.map((one) => one.what)).toEqual(["No."]);
    let late: (out: string) => void = () => undefined;
    const asked = work.short(() => new Promise<string>((resolve) => (late = resolve)), vi.fn());
    await vi.advanceTimersByTimeAsync(1);
    expect(work.trouble).toHaveLength(1);
    late("good");
    await asked;
    expect(work.trouble).toEqual([]);
  });
});
