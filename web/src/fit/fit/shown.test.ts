import { expect, test } from "vitest";
import type { Body } from "../../frame/shapes";
import { bodiesFor, markMesh, NOTHING } from "./shown";

const body = (key: string, kind: Body["kind"], inside = ""): Body =>
  ({ key, kind, inside, name: key }) as unknown as Body;

const BODIES = [
  body("hull", "hull"),
  body("tube", "dry"),
  body("cell", "inside", "tube"),
  body("bar", "solid"),
  body("spot", "place"),
];

test("nothing in question shows all but places for lead", () => {
  expect(bodiesFor(BODIES, NOTHING).map((one) => one.key)).toEqual(["hull", "tube", "cell", "bar"]);
});

test("a pair is shown with the hull and what holds it", () => {
  const pair = { ...NOTHING, first: "cell", second: "tube" };
  expect(bodiesFor(BODIES, pair).map((one) => one.key)).toEqual(["hull", "tube", "cell"]);
  const flooded = { ...NOTHING, first: "bar", second: "hull" };
  expect(bodiesFor(BODIES, flooded).map((one) => one.key)).toEqual(["hull", "bar"]);
});

test("a mark is a closed double pyramid about each point", () => {
  const { positions, indices } = markMesh(
    [
      [1, 2, 3],
      [4, 5, 6],
    ],
    0.5,
  );
  expect(positions.length).toBe(2 * 6 * 3);
  // Closed: each edge is run along once either way.
  const edges = new Map<string, number>();
  for (let face = 0; face < indices.length; face += 3)
    for (let side = 0; side < 3; side++) {
      const [a, b] = [indices[face + side] ?? -1, indices[face + ((side + 1) % 3)] ?? -1];
      const key = a < b ? `${a} ${b}` : `${b} ${a}`;
      edges.set(key, (edges.get(key) ?? 0) + (a < b ? 1 : -1));
    }
  expect([...edges.values()].every((sum) => sum === 0)).toBe(true);
  expect(edges.size).toBe(24);
});
