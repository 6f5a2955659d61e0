// @vitest-environment node
import { describe, expect, it } from "vitest";
import type { Step } from "../frame/shapes";
import { behind, called, days } from "./line";

function step(number: number, parent: number | null, more: Partial<Step> = {}): Step {
  return {
    step: number,
    parent,
    when: "2026-05-04T10:00:00Z",
    what: `step ${number}`,
    by: "",
    name: "",
    here: false,
    ...more,
  };
}

describe("the line behind the boat", () => {
  it("goes from where she stands to the first step, past what was taken back", () => {
    // 1 - 2 - 3 taken back, and from 2 another branch to 4, where she stands
    const steps = [step(4, 2, { here: true }), step(3, 2), step(2, 1), step(1, null)];
    expect([...behind(steps)]).toEqual([4, 2, 1]);
  });

  it("is empty where no step is hers, and ends where a parent is missing", () => {
    expect(behind([step(1, null)]).size).toBe(0);
    expect([...behind([step(5, 4, { here: true })])]).toEqual([5]);
  });
});

describe("days", () => {
  const now = new Date(2026, 4, 4, 18, 0);

  it("are told by name when near and by date when far", () => {
    const steps = [
      step(4, 3, { when: new Date(2026, 4, 4, 0, 1).toISOString() }),
      step(3, 2, { when: new Date(2026, 4, 3, 23, 59).toISOString() }),
      step(2, 1, { when: new Date(2026, 4, 3, 0, 1).toISOString() }),
      step(1, null, { when: new Date(2025, 11, 24, 12, 0).toISOString() }),
    ];
    const told = days(steps, now);
    expect(told.map((day) => day.day)).toEqual(["Today", "Yesterday", "Wednesday, 24 December 2025"]);
    expect(told.map((day) => day.steps.length)).toEqual([1, 2, 1]);
  });
});

it("a version is called by its name, a plain step by what was done", () => {
  expect(called(step(1, null, { name: "Before the bath" }))).toBe("Before the bath");
  expect(called(step(1, null))).toBe("step 1");
});
