import { describe, expect, it } from "vitest";
import { boxMesh } from "./boxes";

describe("a box to draw", () => {
  it("encloses length times width times height, with its faces outward", () => {
    const { positions, indices } = boxMesh([1, -2, 0], [4, 3, 2]);
    const at = (index: number) => [0, 1, 2].map((axis) => positions[3 * index + axis] ?? NaN);
    let six = 0;
    for (let first = 0; first < indices.length; first += 3) {
      const [a, b, c] = [0, 1, 2].map((next) => at(indices[first + next] ?? -1)) as [
        number[],
        number[],
        number[],
      ];
      const cross = [0, 1, 2].map((axis) => {
        const [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
        return (b[u] ?? NaN) * (c[v] ?? NaN) - (b[v] ?? NaN) * (c[u] ?? NaN);
      });
      six += cross.reduce((sum, value, axis) => sum + value * (a[axis] ?? NaN), 0);
    }
    // The divergence theorem: 3 x 5 x 2.
    expect(six / 6).toBeCloseTo(30, 12);
  });
});
