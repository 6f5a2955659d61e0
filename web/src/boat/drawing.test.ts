import { describe, expect, it } from "vitest";
import type { Vec3 } from "../scene/vectors";
import { meshPath, onPaper, paperFor, shiftFrom, waterOn, type Point } from "./drawing";

const LOW: Vec3 = [0, -0.05, 0];
const HIGH: Vec3 = [1, 0.05, 0.2];
const BOX = { x: 0, y: 0, width: 1000, height: 400 };

describe("the paper", () => {
  it("has the bow right and up up", () => {
    const paper = paperFor("side", LOW, HIGH, BOX);
    const [stern, bow] = [onPaper(paper, [0, 0, 0]), onPaper(paper, [1, 0, 0])];
    expect(bow[0] - stern[0]).toBeCloseTo(1000);
    expect(onPaper(paper, [0, 0, 0.2])[1]).toBeLessThan(stern[1]);
  });

  it("has port up from above, and left from astern", () => {
    const top = paperFor("top", LOW, HIGH, BOX);
    expect(onPaper(top, [0, 0.05, 0])[1]).toBeLessThan(onPaper(top, [0, -0.05, 0])[1]);
    const end = paperFor("end", LOW, HIGH, BOX);
    expect(onPaper(end, [0, 0.05, 0])[0]).toBeLessThan(onPaper(end, [0, -0.05, 0])[0]);
  });

  it.each(["side", "top", "end"] as const)("gives back the way that a pointer went, %s", (view) => {
    const paper = paperFor(view, LOW, HIGH, BOX);
    const shift = shiftFrom(paper, 20, -10);
    const from = onPaper(paper, [0.3, 0.01, 0.1]);
    const to = onPaper(paper, [0.3 + shift[0], 0.01 + shift[1], 0.1 + shift[2]]);
    expect(to[0] - from[0]).toBeCloseTo(20);
    expect(to[1] - from[1]).toBeCloseTo(-10);
  });
});

describe("the water on the paper", () => {
  const paper = paperFor("side", LOW, HIGH, BOX);

  function area(points: readonly Point[]): number {
    return Math.abs(
      points.reduce((sum, [x, y], index) => {
        const [nx, ny] = points[(index + 1) % points.length] as Point;
        return sum + (x * ny - nx * y) / 2;
      }, 0),
    );
  }

  it("stands level where she floats upright", () => {
    // Sunk by 0.08 m: the surface is at z = 0.08 along all of her.
    const pose = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, -0.08, 1];
    const water = waterOn(paper, pose, [0.5, 0, 0.1], 1000, 400);
    const y = onPaper(paper, [0, 0, 0.08])[1];
    water.surface?.forEach((point) => expect(point[1]).toBeCloseTo(y));
    expect(area(water.below)).toBeCloseTo(1000 * (400 - y));
  });

  it("slopes down to the bow where the bow is up", () => {
    // Trim by the angle whose sine is 0.1, bow up: the bow end is out of the water by more than the stern.
    const [s, c] = [0.1, Math.sqrt(0.99)];
    const pose = [c, 0, s, 0, 0, 1, 0, 0, -s, 0, c, 0, 0, 0, -0.1, 1];
    const water = waterOn(paper, pose, [0.5, 0, 0.1], 1000, 400);
    const [a, b] = [...(water.surface ?? [])].sort((one, other) => one[0] - other[0]) as [Point, Point];
    // On paper, down is plus: the slope of the surface in her frame is the tangent of the trim.
    expect((b[1] - a[1]) / (b[0] - a[0])).toBeCloseTo(s / c);
  });

  it("covers all of the paper once she hangs below it", () => {
    const pose = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, -5, 1];
    const water = waterOn(paper, pose, [0.5, 0, 0.1], 1000, 400);
    expect(water.surface).toBeNull();
    expect(area(water.below)).toBeCloseTo(400_000);
  });
});

describe("a mesh on the paper", () => {
  it("is covered by the triangles that face the viewer alone", () => {
    const mesh = { positions: [0, 0, 0, 1, 0, 0, 0, 0, 0.2], indices: [0, 1, 2, 0, 2, 1] };
    const path = meshPath(paperFor("side", LOW, HIGH, BOX), mesh);
    expect(path.match(/M/g)).toHaveLength(1);
  });
});
