import { describe, expect, it } from "vitest";
import type { Body } from "../frame/shapes";
import { readMeshes } from "./meshes";

function body(key: string, mesh: Body["mesh"]): Body {
  const figure = { text: "1 g", spread: "", value: 0.001 };
  return {
    key,
    row: 0,
    carries: [],
    name: key,
    kind: "solid",
    inside: "",
    from_trim: false,
    movable: true,
    centre_m: [0, 0, 0],
    low_m: [0, 0, 0],
    high_m: [1, 1, 1],
    mass: figure,
    at: [],
    mesh,
    outlines: { side: [], top: [], end: [] },
  };
}

/** Two triangles with 3 and 4 vertices behind one another. */
function answer(): ArrayBuffer {
  const bytes = new ArrayBuffer(12 * 3 + 12 + 12 * 4 + 24);
  new Float32Array(bytes, 0, 9).set([0, 0, 0, 1, 0, 0, 0, 1, 0]);
  new Uint32Array(bytes, 36, 3).set([0, 1, 2]);
  new Float32Array(bytes, 48, 12).set([0, 0, 5, 1, 0, 5, 0, 1, 5, 1, 1, 5]);
  new Uint32Array(bytes, 96, 6).set([0, 1, 2, 2, 1, 3]);
  return bytes;
}

describe("the meshes of a scene", () => {
  const bodies = [
    body("part[0]", { offset: 0, vertices: 3, triangles: 1 }),
    body("part[1]", null),
    body("part[2]", { offset: 48, vertices: 4, triangles: 2 }),
  ];

  it("are read each from its own place", () => {
    const meshes = readMeshes(bodies, answer());
    expect([...meshes.keys()]).toEqual(["part[0]", "part[2]"]);
    expect([...(meshes.get("part[2]")?.positions ?? [])].slice(9)).toEqual([1, 1, 5]);
    expect([...(meshes.get("part[2]")?.indices ?? [])]).toEqual([0, 1, 2, 2, 1, 3]);
  });

  it("are refused when the answer was cut short", () => {
    expect(() => readMeshes(bodies, answer().slice(0, 100))).toThrow("part[2]");
  });
});
