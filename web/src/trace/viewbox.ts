/** The part of the picture that is seen: fitted, zoomed about a point, shifted, pinched. Pixels of the picture throughout. */

import type { Place } from "./document";

/** Where the board's upper left corner lies on the picture, and screen pixels for one of the picture's. */
export interface Look {
  x: number;
  y: number;
  scale: number;
}

export interface Size {
  width: number;
  height: number;
}

export const CLOSEST = 24;
const MARGIN = 24;
/** Share of the board that lines take up when they are shown with room about them. */
const ROOM = 0.8;
/** Lines that fill the sheet so far are shown with all of it. */
const WORTH = 1.5;
/** So much of the picture stays in sight, in screen pixels. */
const KEPT = 48;

/** The whole picture in the board, with a margin round it. */
export function fitted(picture: Size, board: Size): Look {
  const scale = Math.max(
    Math.min((board.width - 2 * MARGIN) / picture.width, (board.height - 2 * MARGIN) / picture.height),
    1e-4,
  );
  return centred([picture.width / 2, picture.height / 2], scale, board);
}

/** These places of the picture with room about them, as far as that is closer than the whole picture. */
export function around(places: readonly Place[], picture: Size, board: Size): Look {
  const [xs, ys] = [places.map((place) => place[0]), places.map((place) => place[1])];
  const [left, right] = [Math.min(...xs), Math.max(...xs)];
  const [top, bottom] = [Math.min(...ys), Math.max(...ys)];
  const whole = fitted(picture, board);
  if (!(Math.max(right - left, bottom - top) > 0)) return whole;
  const scale = ROOM * Math.min(board.width / (right - left), board.height / (bottom - top));
  return scale <= WORTH * whole.scale
    ? whole
    : centred([(left + right) / 2, (top + bottom) / 2], Math.min(scale, CLOSEST), board);
}

/** This place of the picture in the middle of the board. */
export function centred(place: Place, scale: number, board: Size): Look {
  return { x: place[0] - board.width / 2 / scale, y: place[1] - board.height / 2 / scale, scale };
}

/** Closer by a factor; the place under the pointer stays under it. */
export function zoomed(look: Look, factor: number, at: Place, picture: Size, board: Size): Look {
  const least = Math.min(fitted(picture, board).scale, 1) / 2;
  const scale = Math.min(Math.max(look.scale * factor, least), CLOSEST);
  const part = look.scale / scale;
  return within(
    { x: at[0] - (at[0] - look.x) * part, y: at[1] - (at[1] - look.y) * part, scale },
    picture,
    board,
  );
}

/** Shifted by a way of the hand in screen pixels. */
export function shifted(look: Look, right: number, down: number, picture: Size, board: Size): Look {
  return within({ ...look, x: look.x - right / look.scale, y: look.y - down / look.scale }, picture, board);
}

/** Two fingers, where they were and where they are, in screen pixels of the board: what lay under them still does. */
export function pinched(
  look: Look,
  before: readonly [Place, Place],
  now: readonly [Place, Place],
  picture: Size,
  board: Size,
): Look {
  const [was, is] = [between(before), between(now)];
  const at: Place = [look.x + was[0] / look.scale, look.y + was[1] / look.scale];
  const factor = apart(now) / Math.max(apart(before), 1);
  const closer = zoomed(look, factor, at, picture, board);
  return shifted(closer, is[0] - was[0], is[1] - was[1], picture, board);
}

/** As little shifted as brings the place into sight, some way from the edge. */
export function showing(look: Look, place: Place, board: Size, edge = 32): Look {
  const room = Math.min(edge, board.width / 4, board.height / 4) / look.scale;
  const [width, height] = [board.width / look.scale, board.height / look.scale];
  return {
    ...look,
    x: Math.min(Math.max(look.x, place[0] + room - width), place[0] - room),
    y: Math.min(Math.max(look.y, place[1] + room - height), place[1] - room),
  };
}

export function viewBox(look: Look, board: Size): string {
  return `${look.x} ${look.y} ${board.width / look.scale} ${board.height / look.scale}`;
}

function within(look: Look, picture: Size, board: Size): Look {
  const kept = KEPT / look.scale;
  const clamp = (value: number, length: number, seen: number) =>
    Math.min(Math.max(value, kept - seen), length - kept);
  return {
    ...look,
    x: clamp(look.x, picture.width, board.width / look.scale),
    y: clamp(look.y, picture.height, board.height / look.scale),
  };
}

function between([a, b]: readonly [Place, Place]): Place {
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
}

function apart([a, b]: readonly [Place, Place]): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}
