// @vitest-environment node
import { describe, expect, it } from "vitest";
import { bandExtras } from "./bands";

describe("a map on a mesh", () => {
  const positions = [0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 1, 0, 2, 0, 0];
  const indices = [0, 1, 2, 0, 2, 3, 1, 4, 2];

  it("is parted into a mesh for each band, each with the vertices that it uses", () => {
    const extras = bandExtras(positions, indices, [1, 3, 1], ["thin", "middle", "thick"]);
    expect(extras.map((one) => [one.key, one.name, one.kind])).toEqual([
      ["band[1]", "thin", "tone1"],
      ["band[3]", "thick", "tone3"],
    ]);
    expect(extras[0]?.mesh).toEqual({
      positions: [0, 0, 0, 1, 0, 0, 1, 1, 0, 2, 0, 0],
      indices: [0, 1, 2, 1, 3, 2],
    });
    expect(extras[1]?.mesh.indices).toEqual([0, 1, 2]);
  });

  it("keeps triangles without a reading in the last band, so that no hole shows", () => {
    const extras = bandExtras(positions, indices, [0, 1, 1], ["thin", "thick"]);
    expect(extras.map((one) => one.mesh.indices.length)).toEqual([6, 3]);
  });
});
