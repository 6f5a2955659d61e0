import { describe, expect, it } from "vitest";
import {
  between,
  eye,
  fitDistance,
  FIELD_OF_VIEW,
  frameOf,
  turned,
  VIEWS,
  zoomed,
  type Orbit,
} from "./camera";
import { corners, dot, length, subtract, type Vec3 } from "./vectors";

const START: Orbit = { ...VIEWS["three-quarter"], zoom: 1, aside: [0, 0, 0] };

describe("the named views", () => {
  it("sees the starboard side with the bow right and up as up", () => {
    const frame = frameOf(VIEWS.side);
    // From starboard: y is plus to port, so the eye stands at minus y.
    expect(frame.back[1]).toBeCloseTo(-1);
    expect(frame.right[0]).toBeCloseTo(1);
    expect(frame.up[2]).toBeCloseTo(1);
  });

  it("sees from above with the bow right and port up", () => {
    const frame = frameOf(VIEWS.top);
    expect(frame.back[2]).toBeCloseTo(1);
    expect(frame.right[0]).toBeCloseTo(1);
    expect(frame.up[1]).toBeCloseTo(1);
  });

  it("sees the end from astern with port left", () => {
    const frame = frameOf(VIEWS.end);
    expect(frame.back[0]).toBeCloseTo(-1);
    expect(frame.right[1]).toBeCloseTo(-1);
    expect(frame.up[2]).toBeCloseTo(1);
  });
});

describe("fitting", () => {
  const box = corners([0, -0.05, 0], [0.9, 0.05, 0.2]);
  const middle: Vec3 = [0.45, 0, 0.1];

  /** Share of the picture's half that a point reaches, worked out anew from the eye. */
  function reach(orbit: Orbit, aspect: number): number {
    const frame = frameOf(orbit);
    const stand = eye(orbit, middle, fitDistance(box, middle, frame, aspect));
    const shares = box.map((point) => {
      const from = subtract(point, stand.eye);
      const deep = -dot(from, frame.back) * Math.tan(FIELD_OF_VIEW / 2);
      return Math.max(
        Math.abs(dot(from, frame.up)) / deep,
        Math.abs(dot(from, frame.right)) / (deep * aspect),
      );
    });
    return Math.max(...shares);
  }

  it.each([
    ["a laptop", 2.2],
    ["a phone held upright", 0.6],
  ])("fills nine tenths of the picture on %s, from every side", (_name, aspect) => {
    for (const view of Object.values(VIEWS)) {
      expect(reach({ ...START, ...view }, aspect)).toBeCloseTo(0.9, 6);
    }
  });
});

describe("turning and zooming", () => {
  it("stops straight above and straight below", () => {
    expect(turned(START, 0, 10).elevation).toBeCloseTo(Math.PI / 2);
    expect(turned(START, 0, -10).elevation).toBeCloseTo(-Math.PI / 2);
  });

  it("goes the short way round", () => {
    const from = { ...START, azimuth: (-170 * Math.PI) / 180 };
    const to = { ...START, azimuth: (170 * Math.PI) / 180 };
    // Half of the 20 degrees between them, through 180.
    expect(between(from, to, 0.5).azimuth).toBeCloseTo(-Math.PI);
  });

  it("keeps the zoom within what can be seen", () => {
    expect(zoomed(START, 1000).zoom).toBe(12);
    expect(zoomed(START, 0.001).zoom).toBe(0.5);
  });

  it("halves the distance at twice the zoom", () => {
    const near = eye({ ...START, zoom: 2 }, [0, 0, 0], 3);
    expect(length(near.eye)).toBeCloseTo(1.5);
  });
});
