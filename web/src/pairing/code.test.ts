// @vitest-environment node
import { expect, it } from "vitest";
import { grouped, left, usualName } from "./code";

it("groups the code in fours and leaves no space at the end", () => {
  expect(grouped("ABCD2345")).toBe("ABCD 2345");
  expect(grouped("ABCD")).toBe("ABCD");
  expect(grouped("ABCDE")).toBe("ABCD E");
});

it("says how long the code is good, and nothing when it is not", () => {
  const now = Date.parse("2026-05-04T10:00:00Z");
  expect(left("2026-05-04T10:04:20Z", now)).toBe("4 min 20 s");
  expect(left("2026-05-04T10:00:59.2Z", now)).toBe("1 min 0 s");
  expect(left("2026-05-04T10:00:07Z", now)).toBe("7 s");
  expect(left("2026-05-04T10:00:00Z", now)).toBe("");
  expect(left("no time", now)).toBe("");
});

it("names a device by what it is", () => {
  expect(usualName("Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X)")).toBe("iPhone");
  expect(usualName("Mozilla/5.0 (Linux; Android 15; Pixel) Mobile Safari")).toBe("Android phone");
  expect(usualName("Mozilla/5.0 (Linux; Android 15; Tab) Safari")).toBe("Android tablet");
  expect(usualName("Mozilla/5.0 (X11; Linux x86_64)")).toBe("other computer");
  expect(usualName("")).toBe("phone");
});
