import { describe, expect, it } from "vitest";
import { ruleOf, shiftText, ticks, tickStep } from "./rule";

const MM = ruleOf("metric");

describe("the ruler", () => {
  it("takes round steps", () => {
    expect([0.7, 1, 1.1, 3, 7, 40].map(tickStep)).toEqual([1, 1, 2, 5, 10, 50]);
  });

  it("counts from the bow going aft", () => {
    // The bow of a 0.9 m hull: house x = 0.9 is her zero, and aft is plus.
    const list = ticks([0, 0.9], 0.9, -1, MM, 0.1);
    const whole = list.filter((tick) => tick.text !== "");
    expect(whole.map((tick) => tick.text)).toEqual([
      "0",
      "100",
      "200",
      "300",
      "400",
      "500",
      "600",
      "700",
      "800",
      "900",
    ]);
    expect(whole[0]?.at).toBeCloseTo(0.9);
    expect(whole.at(-1)?.at).toBeCloseTo(0);
    expect(list.filter((tick) => tick.zero)).toHaveLength(1);
  });

  it("counts below its zero with a minus sign", () => {
    const texts = ticks([0, 0.2], 0.1, 1, MM, 0.05).map((tick) => tick.text);
    expect(texts.filter((text) => text !== "")).toEqual(["−100", "−50", "0", "50", "100"]);
  });

  it("steps by sixteenths in the inch set", () => {
    expect(ruleOf("inch").step).toBeCloseTo(0.0015875, 9);
  });
});

describe("a shift in words", () => {
  it("names each way", () => {
    expect(shiftText([-0.012, 0, 0.003], MM)).toBe("12 mm aft, 3 mm up");
    expect(shiftText([0, -0.0254, 0], ruleOf("inch"))).toBe("1 in to starboard");
  });

  it("says so when nothing moved", () => {
    expect(shiftText([0, 0, 0], MM)).toBe("not moved");
  });
});
