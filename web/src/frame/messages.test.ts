import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { NO_CONTACT, Refusal } from "./api";
import { messages } from "./messages.svelte";

beforeEach(() => {
  vi.useFakeTimers();
  messages.list = [];
});
afterEach(() => vi.useRealTimers());

it("a word on something done goes by itself, advice stays", () => {
  messages.say("Done");
  messages.advise("Not done", [NO_CONTACT]);
  vi.advanceTimersByTime(60_000);
  expect(messages.list.map((one) => one.text)).toEqual(["Not done"]);
  messages.close(messages.list[0]?.id ?? 0);
  expect(messages.list).toEqual([]);
});

it("the same refusal stands once, and never more than four are shown", () => {
  messages.advise("A", [NO_CONTACT]);
  messages.advise("A", [NO_CONTACT]);
  expect(messages.list).toHaveLength(1);
  for (const text of ["B", "C", "D", "E"]) messages.advise(text, [NO_CONTACT]);
  expect(messages.list.map((one) => one.text)).toEqual(["B", "C", "D", "E"]);
});

it("a refusal is told, and a fault of the page is not hidden", () => {
  messages.refused("Not done", new Refusal(422, [NO_CONTACT]));
  expect(messages.list).toHaveLength(1);
  expect(() => messages.refused("Not done", new RangeError("ours"))).toThrow("ours");
});
