// @vitest-environment node
import { expect, it } from "vitest";
import { clock, things } from "./words";

it("tells a time as short as it is clear", () => {
  const now = new Date(2026, 4, 4, 18, 0);
  expect(clock(new Date(2026, 4, 4, 9, 5).toISOString(), now)).toBe("09:05");
  expect(clock(new Date(2026, 0, 31, 23, 59).toISOString(), now)).toBe("31 Jan, 23:59");
  expect(clock(new Date(2025, 11, 24, 12, 0).toISOString(), now)).toBe("24 Dec 2025");
  expect(clock("never", now)).toBe("");
});

it("counts", () => {
  expect(things(1)).toBe("1 thing");
  expect(things(2)).toBe("2 things");
  expect(things(0, "fault")).toBe("0 faults");
});
