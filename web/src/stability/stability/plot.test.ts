import { describe, expect, it } from "vitest";
import {
  bandAlong,
  brokenAt,
  figureText,
  lineThrough,
  offPaper,
  onPaper,
  pointsOf,
  rangeOf,
  rowsFor,
  spreadOut,
  ticksBetween,
  whereDiffers,
  type Scale,
} from "./plot";

const X: Scale = { low: 0, high: 1, from: 40, to: 240 };
/** Heights grow upward, pixels downward. */
const Y: Scale = { low: -2, high: 8, from: 100, to: 0 };

describe("scales", () => {
  it("puts a figure in proportion between the ends, upside down too", () => {
    // by hand: a quarter of 200 px after 40; (3 + 2) of 10 units up 100 px from the bottom
    expect(onPaper(X, 0.25)).toBe(90);
    expect(onPaper(Y, 3)).toBe(50);
  });

  it("finds the figure back and never leaves the plot", () => {
    expect(offPaper(X, 90)).toBeCloseTo(0.25, 12);
    expect(offPaper(Y, 50)).toBeCloseTo(3, 12);
    expect([offPaper(X, 0), offPaper(X, 999)]).toEqual([0, 1]);
  });
});

describe("ranges and ticks", () => {
  it("goes out to whole ticks of 1, 2 or 5", () => {
    // 58 to 187 in about 4: steps of 50, so 50 to 200
    expect(rangeOf([58, 187, null], 4, 4)).toEqual({ low: 50, high: 200, step: 50 });
    expect(ticksBetween(50, 200, 50).map((tick) => tick.text)).toEqual(["50", "100", "150", "200"]);
  });

  it("makes no mountains of what hardly changes", () => {
    const range = rangeOf([0.1, 0.12], 2, 4);
    expect(range.high - range.low).toBeGreaterThanOrEqual(2);
    expect(range.low).toBeLessThanOrEqual(0.1);
    expect(range.high).toBeGreaterThanOrEqual(0.12);
  });

  it("stands even where nothing is known", () => {
    expect(rangeOf([null, undefined, NaN], 2, 4)).toMatchObject({ low: 0, high: 2 });
  });

  it("writes ticks without noise and with a true minus", () => {
    expect(ticksBetween(-0.2, 0.3, 0.1).map((tick) => tick.text)).toEqual([
      "−0.2",
      "−0.1",
      "0",
      "0.1",
      "0.2",
      "0.3",
    ]);
    expect(figureText(-1.5)).toBe("−1.5");
  });
});

describe("lines", () => {
  const places = [0, 0.5, 1];

  it("leaves a gap where a figure is not known", () => {
    expect(lineThrough(pointsOf(X, Y, places, [8, null, -2]))).toBe("M40.0 0.0M240.0 100.0");
    expect(lineThrough(pointsOf(X, Y, places, [8, 3, -2]))).toBe("M40.0 0.0L140.0 50.0L240.0 100.0");
  });

  it("breaks where she goes over, in either direction", () => {
    const points = pointsOf(X, Y, places, [8, 3, -2]);
    expect(brokenAt(points, places, [0.7])).toEqual([points[0], points[1], null, points[2]]);
    const back = [1, 0.5, 0];
    const up = pointsOf(X, Y, back, [8, 3, -2]);
    expect(brokenAt(up, back, [0.7])).toEqual([up[0], null, up[1], up[2]]);
  });

  it("draws a stretch when either of its ends differs", () => {
    const points = pointsOf(X, Y, [0, 0.25, 0.5, 0.75, 1], [1, 1, 1, 1, 1]);
    const shown = whereDiffers(points, [false, false, false, true, false]);
    expect(shown.map((point) => point !== null)).toEqual([false, false, true, true, true]);
  });

  it("bands a line by its spread, kept on the plot, one shape for each stretch", () => {
    // 3 ± 1 stands at 40 and 60 px; 8 + 1 is cut off at the upper edge, 0 px
    expect(bandAlong(X, Y, [0, 1], [3, 8], [1, 1])).toBe("M40.0 40.0L240.0 0.0L240.0 10.0L40.0 60.0Z");
    expect(bandAlong(X, Y, [0, 0.5, 1], [3, null, 3], [1, 1, 1])).toBe("");
  });
});

describe("labels", () => {
  it("takes the first row that has room", () => {
    const labels = [
      { x: 0, width: 50 },
      { x: 40, width: 50 },
      { x: 60, width: 10 },
      { x: 70, width: 10 },
    ];
    expect(rowsFor(labels, 4)).toEqual([0, 1, 0, 2]);
  });

  it("keeps names apart and lets the rest be", () => {
    const [a = 0, b = 0, c = 0] = spreadOut([50, 52, 200], 14);
    expect(b - a).toBeCloseTo(14, 6);
    expect((a + b) / 2).toBeCloseTo(51, 6);
    expect(c).toBe(200);
  });
});
