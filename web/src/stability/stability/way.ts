/** Places on the whole way: 0 to 1 going down, 1 to 2 coming up. */

export type Way = "down" | "up";

export const END = 2;

export interface Stop {
  at: number;
}

export function wayOf(at: number): Way {
  return at <= 1 ? "down" : "up";
}

/** How much of the tank water is in, 0 to 1. */
export function progressOf(at: number): number {
  return at <= 1 ? at : END - at;
}

export function placeOf(way: Way, progress: number): number {
  return way === "down" ? progress : END - progress;
}

/** With all of it in she turns back, and there is but one way to be. */
export function wordsOf(at: number): string {
  if (at === 1) return "100 % in";
  return `${Math.round(100 * progressOf(at))} % in, ${wayOf(at) === "down" ? "going down" : "coming up"}`;
}

/** Which stop lies nearest; the earlier one of two that are as near. */
export function nearest(stops: readonly Stop[], at: number): number {
  let best = 0;
  stops.forEach((stop, index) => {
    if (Math.abs(stop.at - at) < Math.abs((stops[best]?.at ?? Infinity) - at)) best = index;
  });
  return best;
}

const SAME = 1e-9;

/** The stop that many steps on (or back, negative), the first or last one at the end of the way. */
export function stepped(stops: readonly Stop[], at: number, steps: number): number {
  let place = at;
  for (let count = 0; count < Math.abs(steps); count += 1) {
    const next =
      steps > 0
        ? stops.find((stop) => stop.at > place + SAME)
        : [...stops].reverse().find((stop) => stop.at < place - SAME);
    if (!next) break;
    place = next.at;
  }
  return place;
}

/** What a key does to the place on the way; null where it is none of its keys. */
export function keyed(key: string, stops: readonly Stop[], at: number): number | null {
  switch (key) {
    case "ArrowRight":
    case "ArrowUp":
      return stepped(stops, at, 1);
    case "ArrowLeft":
    case "ArrowDown":
      return stepped(stops, at, -1);
    case "PageUp":
      return stepped(stops, at, 5);
    case "PageDown":
      return stepped(stops, at, -5);
    case "Home":
      return 0;
    case "End":
      return END;
    default:
      return null;
  }
}
