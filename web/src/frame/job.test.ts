import { afterEach, expect, it, vi } from "vitest";
import { JobWatch } from "./job.svelte";
import type { JobOut } from "./shapes";

const FIRST: JobOut = { job: "j1", what: "Solve", state: "running", text: "", share: 0, advice: [] };

afterEach(() => vi.unstubAllGlobals());

function serve(answers: (JobOut | "down")[]): string[] {
  const methods: string[] = [];
  vi.stubGlobal("fetch", (_where: string, how: RequestInit) => {
    methods.push(how.method ?? "GET");
    const next = answers.shift();
    if (next === undefined) throw new Error("asked once too often");
    return next === "down"
      ? Promise.reject(new TypeError("Failed to fetch"))
      : Promise.resolve(new Response(JSON.stringify(next)));
  });
  return methods;
}

it("follows the work to its end, over a moment without contact", async () => {
  serve([{ ...FIRST, share: 0.5 }, "down", { ...FIRST, state: "done", share: 1 }]);
  const watch = new JobWatch(FIRST, 1);
  const end = await watch.end;
  expect(end.state).toBe("done");
  expect(watch.now.share).toBe(1);
});

it("is cancelled at once and asks no more", async () => {
  const methods = serve([{ ...FIRST, state: "cancelled" }]);
  const watch = new JobWatch(FIRST, 20);
  await watch.cancel();
  expect((await watch.end).state).toBe("cancelled");
  expect(methods).toEqual(["DELETE"]);
});

it("is left without a word, whether it runs, has ended or is out of reach", async () => {
  const methods = serve(["down", { ...FIRST, state: "cancelled" }]);
  const watch = new JobWatch(FIRST, 20);
  await watch.leave();
  expect(watch.now.state).toBe("running");
  await watch.leave();
  expect((await watch.end).state).toBe("cancelled");
  await watch.leave();
  expect(methods).toEqual(["DELETE", "DELETE"]);
});
