/** Where the eye stands: an orbit about the boat, and the distance from which all of her is seen. */

import { add, dot, scaled, subtract, type Vec3 } from "./vectors";

export interface Orbit {
  /** Turn about the upright [rad]; -90 degrees looks at the starboard side, so the bow is right. */
  azimuth: number;
  /** Height over the horizon [rad]. */
  elevation: number;
  /** 1 shows all of her; 2 half of her. */
  zoom: number;
  /** Sideways shift of the look-at point from the middle of the boat, world [m]. */
  aside: Vec3;
}

export type ViewName = "side" | "top" | "end" | "three-quarter";

const DEGREE = Math.PI / 180;

export const VIEWS: Readonly<Record<ViewName, Pick<Orbit, "azimuth" | "elevation">>> = {
  side: { azimuth: -90 * DEGREE, elevation: 0 },
  top: { azimuth: -90 * DEGREE, elevation: 90 * DEGREE },
  end: { azimuth: 180 * DEGREE, elevation: 0 },
  "three-quarter": { azimuth: -58 * DEGREE, elevation: 19 * DEGREE },
};

/** Vertical angle of view [rad]: long, so that a long hull is not drawn with a swollen bow. */
export const FIELD_OF_VIEW = 24 * DEGREE;
const LEAST_ZOOM = 0.5;
const MOST_ZOOM = 12;
/** Share of the picture's half that the boat may fill. */
const FILLED = 0.9;

export interface Frame {
  /** From the boat to the eye. */
  back: Vec3;
  right: Vec3;
  up: Vec3;
}

/** The three axes of the picture; upright at every elevation, straight down among them. */
export function frameOf(orbit: Pick<Orbit, "azimuth" | "elevation">): Frame {
  const [ca, sa] = [Math.cos(orbit.azimuth), Math.sin(orbit.azimuth)];
  const [ce, se] = [Math.cos(orbit.elevation), Math.sin(orbit.elevation)];
  return { back: [ce * ca, ce * sa, se], right: [-sa, ca, 0], up: [-se * ca, -se * sa, ce] };
}

/** Distance from `middle` at which every point lies in the picture. */
export function fitDistance(points: readonly Vec3[], middle: Vec3, frame: Frame, aspect: number): number {
  const tall = Math.tan(FIELD_OF_VIEW / 2) * FILLED;
  const wide = tall * aspect;
  let distance = 0;
  for (const point of points) {
    const from = subtract(point, middle);
    const needed = Math.max(Math.abs(dot(from, frame.right)) / wide, Math.abs(dot(from, frame.up)) / tall);
    distance = Math.max(distance, dot(from, frame.back) + needed);
  }
  return distance;
}

/** The eye and what it looks at. */
export function eye(orbit: Orbit, middle: Vec3, distance: number): { eye: Vec3; target: Vec3; up: Vec3 } {
  const frame = frameOf(orbit);
  const target = add(middle, orbit.aside);
  return { eye: add(target, scaled(frame.back, distance / orbit.zoom)), target, up: frame.up };
}

/** The orbit turned, kept from going over the top. */
export function turned(orbit: Orbit, azimuth: number, elevation: number): Orbit {
  const limit = Math.PI / 2;
  return {
    ...orbit,
    azimuth: orbit.azimuth + azimuth,
    elevation: Math.min(limit, Math.max(-limit, orbit.elevation + elevation)),
  };
}

export function zoomed(orbit: Orbit, factor: number): Orbit {
  return { ...orbit, zoom: Math.min(MOST_ZOOM, Math.max(LEAST_ZOOM, orbit.zoom * factor)) };
}

/** Part of the way from one orbit to another, the short way round. */
export function between(from: Orbit, to: Orbit, share: number): Orbit {
  const round = 2 * Math.PI;
  const way = ((((to.azimuth - from.azimuth + Math.PI) % round) + round) % round) - Math.PI;
  const mix = (a: number, b: number) => a + (b - a) * share;
  return {
    azimuth: from.azimuth + way * share,
    elevation: mix(from.elevation, to.elevation),
    zoom: mix(from.zoom, to.zoom),
    aside: add(scaled(from.aside, 1 - share), scaled(to.aside, share)),
  };
}
