/** The traced document as the page holds it, and the steps of work on it. Nothing here changes what it is given. */

import type { components } from "../frame/types";

type Schemas = components["schemas"];

export type Place = [number, number];
export type ViewKind = Schemas["TracedView"]["kind"];
export type Role = Schemas["TracedCurve"]["role"];
export type BodyKind = Schemas["TracedBody"]["kind"];
export type MarkName = "scale" | "level" | "square";

export interface Mark {
  from: Place;
  to: Place;
  length?: string | null;
}

export interface Curve {
  name: string;
  role: Role;
  body: string;
  points: Place[];
  corners: number[];
}

export interface View {
  name: string;
  kind: ViewKind;
  picture: string;
  at?: string | null;
  scale?: Mark | null;
  level?: Mark | null;
  square?: Mark | null;
  bow?: "left" | "right" | null;
  curve: Curve[];
}

export interface Body {
  name: string;
  kind: BodyKind;
  breadth?: string | null;
  thickness?: string | null;
  height?: string | null;
  part_of_hull?: boolean;
}

export type Trace = Omit<Schemas["Trace"], "view" | "body"> & { view: View[]; body: Body[] };

/** The document with everything that the server leaves out filled in. */
export function whole(trace: Schemas["Trace"]): Trace {
  return {
    ...trace,
    view: (trace.view ?? []).map((view) => ({
      ...view,
      picture: view.picture ?? "",
      curve: (view.curve ?? []).map((curve) => ({
        name: curve.name ?? "",
        role: curve.role,
        body: curve.body ?? "",
        points: (curve.points ?? []) as Place[],
        corners: curve.corners ?? [],
      })),
    })) as View[],
    body: (trace.body ?? []) as Body[],
  };
}

export function withView(trace: Trace, at: number, change: (view: View) => View): Trace {
  return { ...trace, view: trace.view.map((view, index) => (index === at ? change(view) : view)) };
}

export function withCurve(trace: Trace, view: number, at: number, change: (curve: Curve) => Curve): Trace {
  return withView(trace, view, (old) => ({
    ...old,
    curve: old.curve.map((curve, index) => (index === at ? change(curve) : curve)),
  }));
}

function distance(a: Place, b: Place): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

/** The place in the row of points where one more lengthens the way least: before the first, between two, or after the last. */
export function slotFor(points: readonly Place[], place: Place): number {
  const [first, last] = [points[0], points.at(-1)];
  if (!first || !last) return 0;
  let [best, least] = [points.length, distance(last, place)];
  if (points.length > 1 && distance(first, place) < least) [best, least] = [0, distance(first, place)];
  for (let at = 1; at < points.length; at += 1) {
    const [a, b] = [points[at - 1], points[at]];
    if (!a || !b) continue;
    const detour = distance(a, place) + distance(place, b) - distance(a, b);
    if (detour < least) [best, least] = [at, detour];
  }
  return best;
}

/** A curve with one point more, and where it stands; corners keep their points. */
export function inserted(curve: Curve, place: Place, at = slotFor(curve.points, place)): [Curve, number] {
  const points = [...curve.points.slice(0, at), place, ...curve.points.slice(at)];
  return [{ ...curve, points, corners: curve.corners.map((one) => (one >= at ? one + 1 : one)) }, at];
}

export function moved(curve: Curve, at: number, place: Place): Curve {
  return { ...curve, points: curve.points.map((point, index) => (index === at ? place : point)) };
}

export function without(curve: Curve, at: number): Curve {
  return {
    ...curve,
    points: curve.points.filter((_, index) => index !== at),
    corners: curve.corners.filter((one) => one !== at).map((one) => (one > at ? one - 1 : one)),
  };
}

/** The point becomes a corner, or is one no longer. */
export function cornered(curve: Curve, at: number): Curve {
  const corners = curve.corners.includes(at)
    ? curve.corners.filter((one) => one !== at)
    : [...curve.corners, at].sort((a, b) => a - b);
  return { ...curve, corners };
}

export function reversed(curve: Curve): Curve {
  const last = curve.points.length - 1;
  return {
    ...curve,
    points: [...curve.points].reverse(),
    corners: curve.corners.map((one) => last - one).sort((a, b) => a - b),
  };
}

/** Lines run from stern to bow, sections from keel to top: two points set the other way round change places. */
export function inOrder(curve: Curve, view: View): Curve {
  const [first, last] = [curve.points[0], curve.points.at(-1)];
  if (!first || !last || curve.role === "outline") return curve;
  if (view.kind === "section") return last[1] > first[1] ? reversed(curve) : curve;
  const way = bowward(view);
  const along = (last[0] - first[0]) * way[0] + (last[1] - first[1]) * way[1];
  return along < 0 ? reversed(curve) : curve;
}

/** Towards the bow on the picture: along the level line, else to the side that is named. */
export function bowward(view: View): Place {
  if (view.level) {
    const { from, to } = view.level;
    return [to[0] - from[0], to[1] - from[1]];
  }
  return [view.bow === "left" ? -1 : 1, 0];
}

/** A mark between two places; a level line leads towards the bow, in a section to port. */
export function marked(view: View, name: MarkName, from: Place, to: Place): View {
  const turned =
    name === "level" && view.kind !== "section" && (to[0] - from[0]) * (view.bow === "left" ? -1 : 1) < 0;
  const old = view[name];
  const mark: Mark = turned ? { from: to, to: from } : { from, to };
  if (old?.length) mark.length = old.length;
  return { ...view, [name]: mark };
}

export function markMoved(view: View, name: MarkName, end: "from" | "to", place: Place): View {
  const old = view[name];
  return old ? { ...view, [name]: { ...old, [end]: place } } : view;
}

/** The bow is on the other side after all: level line and curves are turned round. */
export function turnedRound(view: View, bow: "left" | "right"): View {
  if (view.bow === bow) return view;
  const level = view.level ? { ...view.level, from: view.level.to, to: view.level.from } : view.level;
  const turned = {
    ...view,
    bow,
    curve: view.curve.map((one) => (one.role === "outline" ? one : reversed(one))),
  };
  return level ? { ...turned, level } : turned;
}

export const ROLE_WORDS: Record<Role, string> = {
  upper: "upper edge",
  lower: "lower edge",
  half_breadth: "half breadth",
  section: "section",
  outline: "outline",
};

export const KIND_WORDS: Record<ViewKind, string> = { side: "Side", top: "Top", section: "Section" };

/** What a line is called where its own name says nothing of its body. */
export function curveTitle(curve: Curve): string {
  const name = curve.name || ROLE_WORDS[curve.role];
  return curve.body && !name.includes(curve.body) ? `${curve.body}, ${name}` : name;
}

/** Points of the curve where a corner can be: all but its ends. */
export function cornerable(curve: Curve, at: number): boolean {
  return curve.role === "outline" || (at > 0 && at < curve.points.length - 1);
}
