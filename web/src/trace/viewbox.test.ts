// @vitest-environment node
import { describe, expect, it } from "vitest";
import type { Place } from "./document";
import { around, CLOSEST, fitted, pinched, shifted, showing, viewBox, zoomed, type Look } from "./viewbox";

const PICTURE = { width: 1600, height: 1000 };
const BOARD = { width: 800, height: 600 };

const onScreen = (look: Look, [x, y]: Place): Place => [(x - look.x) * look.scale, (y - look.y) * look.scale];

describe("the look at a picture", () => {
  it("shows all of it in the middle at first", () => {
    const look = fitted(PICTURE, BOARD);
    // 800 less two margins of 24, for 1600 pixels.
    expect(look.scale).toBeCloseTo(752 / 1600);
    const [left, top] = onScreen(look, [0, 0]);
    const [right, bottom] = onScreen(look, [1600, 1000]);
    expect(left).toBeCloseTo(800 - right);
    expect(top).toBeCloseTo(600 - bottom);
    expect(left).toBeCloseTo(24);
  });

  it("keeps the place under the pointer where it is while it comes closer", () => {
    const look = fitted(PICTURE, BOARD);
    const at: Place = [1200, 300];
    const closer = zoomed(look, 3, at, PICTURE, BOARD);
    expect(closer.scale).toBeCloseTo(3 * look.scale);
    expect(onScreen(closer, at)[0]).toBeCloseTo(onScreen(look, at)[0]);
    expect(onScreen(closer, at)[1]).toBeCloseTo(onScreen(look, at)[1]);
  });

  it("comes no closer than a builder can use, and goes no farther than half the whole", () => {
    const look = fitted(PICTURE, BOARD);
    expect(zoomed(look, 1e6, [800, 500], PICTURE, BOARD).scale).toBe(CLOSEST);
    expect(zoomed(look, 1e-6, [800, 500], PICTURE, BOARD).scale).toBeCloseTo(look.scale / 2);
  });

  it("never loses the picture out of sight", () => {
    const look = fitted(PICTURE, BOARD);
    const gone = shifted(look, 1e6, -1e6, PICTURE, BOARD);
    expect(onScreen(gone, [0, 0])[0]).toBeLessThan(BOARD.width);
    expect(onScreen(gone, [0, 1000])[1]).toBeGreaterThan(0);
  });

  it("goes with two fingers: what lay under them still does", () => {
    const look = zoomed(fitted(PICTURE, BOARD), 2, [800, 500], PICTURE, BOARD);
    const before: [Place, Place] = [
      [300, 200],
      [500, 200],
    ];
    const now: [Place, Place] = [
      [250, 260],
      [550, 260],
    ];
    const under: Place = [look.x + 300 / look.scale, look.y + 200 / look.scale];
    const next = pinched(look, before, now, PICTURE, BOARD);
    expect(next.scale).toBeCloseTo(1.5 * look.scale);
    expect(onScreen(next, under)[0]).toBeCloseTo(250);
    expect(onScreen(next, under)[1]).toBeCloseTo(260);
  });

  it("moves no more than it must to show a place", () => {
    const look: Look = { x: 100, y: 100, scale: 1 };
    expect(showing(look, [400, 300], BOARD)).toEqual(look);
    const right = showing(look, [1000, 300], BOARD);
    expect(onScreen(right, [1000, 300])).toEqual([BOARD.width - 32, 200]);
  });

  it("begins at the lines where there are some, with room about them", () => {
    const look = around(
      [
        [200, 700],
        [300, 800],
      ],
      PICTURE,
      BOARD,
    );
    // 100 pixels take up 0.8 of the board's 600.
    expect(look.scale).toBeCloseTo(4.8);
    expect(onScreen(look, [250, 750])[0]).toBeCloseTo(400);
    expect(onScreen(look, [250, 750])[1]).toBeCloseTo(300);
    // Lines as large as the sheet, a single point and no lines: the whole picture.
    for (const places of [
      [
        [0, 0],
        [1600, 1000],
      ],
      [[5, 5]],
      [],
    ] as Place[][])
      expect(around(places, PICTURE, BOARD)).toEqual(fitted(PICTURE, BOARD));
  });

  it("is said as an SVG's view box", () => {
    expect(viewBox({ x: 10, y: 20, scale: 2 }, BOARD)).toBe("10 20 400 300");
  });
});
