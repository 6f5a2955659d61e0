import { describe, expect, it } from "vitest";
import { labelled, paperOf, pathOf } from "./views";

describe("three views on one paper", () => {
  const paper = paperOf([0, -0.05, 0], [1, 0.05, 0.1], 600);

  it("puts the bow to the right, the deck up and port up, all at one scale", () => {
    const [stern, bow] = [paper.side(0, 0), paper.side(1, 0)];
    expect(bow[0] - stern[0]).toBeCloseTo(paper.scale, 9);
    expect(paper.side(0, 0.1)[1]).toBeLessThan(stern[1]);
    expect(paper.top(0, 0.05)[1]).toBeLessThan(paper.top(0, -0.05)[1]);
    expect(paper.top(1, 0)[0]).toBeCloseTo(bow[0], 9);
  });

  it("shows the end from astern, port on the left, beside the side view and as high", () => {
    expect(paper.end(0.05, 0)[0]).toBeLessThan(paper.end(-0.05, 0)[0]);
    expect(paper.end(0.05, 0)[0]).toBeGreaterThan(paper.side(1, 0)[0]);
    expect(paper.end(0, 0.1)[1]).toBe(paper.side(0, 0.1)[1]);
  });

  it("keeps everything on the paper, for stout hulls too", () => {
    for (const high of [
      [1, 0.05, 0.1],
      [0.1, 0.5, 1],
      [0.2, 0.1, 0.2],
    ] as const) {
      const low = [0, -high[1], 0] as const;
      for (const width of [320, 900]) {
        const on = paperOf(low, high, width);
        const points = [
          on.side(0, 0),
          on.side(high[0], high[2]),
          on.end(-high[1], 0),
          on.top(high[0], -high[1]),
        ];
        for (const [x, y] of points) {
          expect(x).toBeGreaterThanOrEqual(0);
          expect(x).toBeLessThanOrEqual(width);
          expect(y).toBeGreaterThanOrEqual(0);
          expect(y).toBeLessThanOrEqual(on.height);
        }
      }
    }
  });

  it("gives dots that fall together one label", () => {
    const dots = [
      { key: "a", name: "1", at: [0.2, 0.01, 0.1] as const },
      { key: "b", name: "2", at: [0.2, -0.01, 0.1] as const },
      { key: "c", name: "3", at: [0.8, 0, 0] as const },
    ];
    const labels = labelled(dots, ([x, , z]) => paper.side(x, z));
    expect(labels.map((one) => one.text)).toEqual(["1, 2", "3"]);
    expect(labels[0]?.keys).toEqual(["a", "b"]);
  });

  it("closes each ring and leaves out what is none", () => {
    const path = pathOf(
      [
        [
          [0, 0],
          [1, 0],
          [1, 1],
        ],
        [
          [0, 0],
          [1, 1],
        ],
      ],
      (a, b) => [a, b],
    );
    expect(path).toBe("M0.0 0.0L1.0 0.0L1.0 1.0Z");
  });
});
