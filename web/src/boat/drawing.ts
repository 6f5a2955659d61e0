/** Side, top and end view on paper: bow right, port up; the end is seen from astern, so port is left there. */

import type { Mesh, Outlines } from "../frame/shapes";
import type { Pose, Vec3 } from "../scene/vectors";

export type ViewName = "side" | "top" | "end";
export type Point = readonly [number, number];

interface Axes {
  /** House axis that runs across the paper, and its sign to the right. */
  across: 0 | 1;
  right: 1 | -1;
  /** House axis that runs up the paper. */
  up: 1 | 2;
  /** House axis towards the viewer or away. */
  through: 0 | 1 | 2;
}

export const AXES: Readonly<Record<ViewName, Axes>> = {
  side: { across: 0, right: 1, up: 2, through: 1 },
  top: { across: 0, right: 1, up: 1, through: 2 },
  end: { across: 1, right: -1, up: 2, through: 0 },
};

/** From the house frame [m] to the paper [px]. */
export interface Paper {
  view: ViewName;
  /** Pixels to the metre. */
  scale: number;
  /** Where the house zero of both axes lies. */
  x0: number;
  y0: number;
}

/** Fits the house ranges into a box of pixels, centred. */
export function paperFor(
  view: ViewName,
  low: Vec3,
  high: Vec3,
  box: { x: number; y: number; width: number; height: number },
): Paper {
  const { across, right, up } = AXES[view];
  const scale = Math.min(box.width / (high[across] - low[across]), box.height / (high[up] - low[up]));
  const middle = (right * (low[across] + high[across])) / 2;
  return {
    view,
    scale,
    x0: box.x + box.width / 2 - middle * scale,
    y0: box.y + box.height / 2 + ((low[up] + high[up]) / 2) * scale,
  };
}

export function onPaper(paper: Paper, point: Vec3): Point {
  const { across, right, up } = AXES[paper.view];
  return [paper.x0 + right * point[across] * paper.scale, paper.y0 - point[up] * paper.scale];
}

/** A point given as this view's outlines give it: (x, z), (x, y) or (y, z). */
export function flatOnPaper(paper: Paper, point: Point): Point {
  return [paper.x0 + AXES[paper.view].right * point[0] * paper.scale, paper.y0 - point[1] * paper.scale];
}

/** A way on the paper [px] as a shift in the house frame [m]. */
export function shiftFrom(paper: Paper, dx: number, dy: number): Vec3 {
  const { across, right, up } = AXES[paper.view];
  const shift: [number, number, number] = [0, 0, 0];
  shift[across] = (right * dx) / paper.scale;
  shift[up] = -dy / paper.scale;
  return shift;
}

/** Path data of closed rings, to be filled by the nonzero rule. */
export function ringsPath(paper: Paper, outlines: Outlines): string {
  return outlines[paper.view]
    .map(
      (ring) =>
        `M${ring
          .map((point) =>
            flatOnPaper(paper, point)
              .map((value) => value.toFixed(2))
              .join(" "),
          )
          .join("L")}Z`,
    )
    .join("");
}

/** Path data of what a closed mesh covers: its triangles that face the viewer cover all of it. */
export function meshPath(paper: Paper, mesh: Mesh): string {
  const at = (index: number): Point => {
    const from = 3 * index;
    const point: Vec3 = [
      mesh.positions[from] ?? 0,
      mesh.positions[from + 1] ?? 0,
      mesh.positions[from + 2] ?? 0,
    ];
    return onPaper(paper, point);
  };
  let path = "";
  for (let first = 0; first + 2 < mesh.indices.length; first += 3) {
    const [a, b, c] = [0, 1, 2].map((next) => at(mesh.indices[first + next] ?? 0)) as [Point, Point, Point];
    const turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    if (turn <= 1e-6) continue;
    path += `M${[a, b, c].map((point) => `${point[0].toFixed(2)} ${point[1].toFixed(2)}`).join("L")}Z`;
  }
  return path;
}

export interface Water {
  /** The paper under the surface, as a polygon; empty where all of it is above. */
  below: Point[];
  /** The surface itself; null where it does not cross the paper. */
  surface: readonly [Point, Point] | null;
}

/** Where the water stands on the paper as she lies, in the plane through `middle`. */
export function waterOn(paper: Paper, pose: Pose, middle: Vec3, width: number, height: number): Water {
  const { across, right, up, through } = AXES[paper.view];
  const rise = [pose[2] ?? 0, pose[6] ?? 0, pose[10] ?? 1];
  const still = (pose[14] ?? 0) + (rise[through] ?? 0) * middle[through];
  /** Height of a point of the paper over the surface [m]. */
  const over = ([x, y]: Point): number =>
    still +
    ((rise[across] ?? 0) * right * (x - paper.x0)) / paper.scale +
    ((rise[up] ?? 0) * (paper.y0 - y)) / paper.scale;
  const rectangle: Point[] = [
    [0, 0],
    [width, 0],
    [width, height],
    [0, height],
  ];
  const below: Point[] = [];
  const cuts: Point[] = [];
  rectangle.forEach((point, index) => {
    const next = rectangle[(index + 1) % 4] as Point;
    const [here, there] = [over(point), over(next)];
    if (here < 0) below.push(point);
    if (here < 0 !== there < 0) {
      const share = here / (here - there);
      const cut: Point = [point[0] + (next[0] - point[0]) * share, point[1] + (next[1] - point[1]) * share];
      below.push(cut);
      cuts.push(cut);
    }
  });
  const [first, second] = cuts;
  return { below, surface: first && second ? [first, second] : null };
}
