/** Pointers and keys on the 3-D picture, turned into looking around, picking, and moving the selected part. */

import { rayInHouse, shiftBetween, type Ray, type Way } from "./drag";
import { directionToHouse, type Pose, type Vec3 } from "./vectors";
import type { View } from "./view";

/** Moved further than this, a press is no click [px]. */
export const CLICK_PIXELS = 5;
/** A fingertip covers about this much on each side [px]. */
const FINGER_PIXELS = 24;
const TURN_PER_PIXEL = 0.006;
const TURN_PER_KEY = Math.PI / 24;
const ZOOM_PER_KEY = 1.2;

/** What the hands may do, told anew at each press. */
export interface Grip {
  selected: string | null;
  /** Middle of the selected part where it is drawn now, house [m]; null where it may not be moved. */
  middle: Vec3 | null;
  pose: Pose;
  way: Way;
  /** Ways are whole multiples of this [m]. */
  step: number;
}

export interface Wishes {
  grip: () => Grip;
  pick: (key: string | null) => void;
  /** The selected part is `shift` away from where it was taken. */
  drag: (shift: Vec3) => void;
  drop: () => void;
  /** Moved by keys: `shift` more. */
  nudge: (shift: Vec3) => void;
  keep: () => void;
  takeBack: () => void;
}

interface Held {
  x: number;
  y: number;
  firstX: number;
  firstY: number;
}

interface Dragged {
  grip: Grip & { middle: Vec3 };
  first: Ray;
  view: Vec3;
  moved: boolean;
}

const NUDGES: Readonly<Record<string, Vec3>> = {
  ArrowRight: [1, 0, 0],
  ArrowLeft: [-1, 0, 0],
  ArrowUp: [0, 0, 1],
  ArrowDown: [0, 0, -1],
  PageUp: [0, 1, 0],
  PageDown: [0, -1, 0],
};

const TURNS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowRight: [1, 0],
  ArrowLeft: [-1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
};

/** Listens on the canvas until told to let go. */
export function hands(canvas: HTMLCanvasElement, keys: HTMLElement, view: View, wishes: Wishes): () => void {
  const held = new Map<number, Held>();
  let dragged: Dragged | null = null;
  let clicked = false;
  const stop = new AbortController();
  const { signal } = stop;

  /** The grip, where a pointer is on the selected part; a finger need only be near it. */
  function onSelected(x: number, y: number, finger: boolean): (Grip & { middle: Vec3 }) | null {
    const grip = wishes.grip();
    if (grip.selected === null || grip.middle === null) return null;
    const room = canvas.getBoundingClientRect();
    const at = view.onScreen(grip.middle);
    const near = finger && Math.hypot(x - room.left - at.x, y - room.top - at.y) < FINGER_PIXELS;
    return near || view.pick(x, y) === grip.selected ? { ...grip, middle: grip.middle } : null;
  }

  function down(event: PointerEvent): void {
    if (event.button > 0 && event.pointerType === "mouse" && event.button !== 2) return;
    canvas.setPointerCapture(event.pointerId);
    held.set(event.pointerId, {
      x: event.clientX,
      y: event.clientY,
      firstX: event.clientX,
      firstY: event.clientY,
    });
    clicked = held.size === 1 && event.button === 0;
    const grip =
      held.size === 1 && event.button === 0
        ? onSelected(event.clientX, event.clientY, event.pointerType === "touch")
        : null;
    if (grip) {
      const first = rayInHouse(view.ray(event.clientX, event.clientY), grip.pose);
      dragged = { grip, first, view: directionToHouse(grip.pose, view.sight), moved: false };
    }
  }

  function move(event: PointerEvent): void {
    const from = held.get(event.pointerId);
    if (!from) return;
    const far = Math.hypot(event.clientX - from.firstX, event.clientY - from.firstY) > CLICK_PIXELS;
    if (clicked && !far) return;
    clicked = false;
    const [dx, dy] = [event.clientX - from.x, event.clientY - from.y];
    if (held.size >= 2) pinch(event, from);
    else if (dragged) {
      const { grip, first } = dragged;
      const second = rayInHouse(view.ray(event.clientX, event.clientY), grip.pose);
      const shift = shiftBetween(first, second, grip.middle, dragged.view, grip.way, grip.step);
      if (shift) {
        dragged.moved = true;
        wishes.drag(shift);
      }
    } else if (event.shiftKey || (event.buttons & 2) !== 0) view.pan(dx, dy);
    else view.turn(-dx * TURN_PER_PIXEL, dy * TURN_PER_PIXEL);
    [from.x, from.y] = [event.clientX, event.clientY];
  }

  /** Two fingers: apart and together zooms, together aside shifts. */
  function pinch(event: PointerEvent, from: Held): void {
    const other = [...held].find(([id]) => id !== event.pointerId)?.[1];
    if (!other) return;
    const before = Math.hypot(from.x - other.x, from.y - other.y);
    const after = Math.hypot(event.clientX - other.x, event.clientY - other.y);
    if (before > 0 && after > 0) view.zoom(after / before);
    view.pan((event.clientX - from.x) / 2, (event.clientY - from.y) / 2);
  }

  function up(event: PointerEvent): void {
    if (!held.delete(event.pointerId)) return;
    if (dragged?.moved) wishes.drop();
    else if (clicked && event.type === "pointerup") wishes.pick(view.pick(event.clientX, event.clientY));
    dragged = null;
    clicked = false;
  }

  /** The page scrolls under a finger, unless it holds the selected part or there are two. */
  function touch(event: TouchEvent): void {
    const finger = event.touches[0];
    if (event.touches.length > 1 || (finger && onSelected(finger.clientX, finger.clientY, true)))
      event.preventDefault();
  }

  /** The page scrolls under the wheel, unless the picture was taken in hand first. */
  function wheel(event: WheelEvent): void {
    if (!event.ctrlKey && !keys.matches(":focus-within")) return;
    event.preventDefault();
    view.zoom(Math.exp(-event.deltaY * 0.0012));
  }

  function key(event: KeyboardEvent): void {
    if (event.altKey || event.metaKey) return;
    if (act(event)) event.preventDefault();
  }

  function act(event: KeyboardEvent): boolean {
    const grip = wishes.grip();
    const nudge = NUDGES[event.key];
    const turn = TURNS[event.key];
    if (grip.middle && nudge && !event.ctrlKey) {
      const way = grip.step * (event.shiftKey ? 10 : 1);
      wishes.nudge([nudge[0] * way, nudge[1] * way, nudge[2] * way]);
    } else if (turn) view.turn(turn[0] * TURN_PER_KEY, turn[1] * TURN_PER_KEY);
    else if (event.key === "+" || event.key === "=") view.zoom(ZOOM_PER_KEY);
    else if (event.key === "-") view.zoom(1 / ZOOM_PER_KEY);
    else if (event.key === "Home") view.fit();
    else if (event.key === "Enter") wishes.keep();
    else if (event.key === "Escape") wishes.takeBack();
    else return false;
    return true;
  }

  canvas.addEventListener("pointerdown", down, { signal });
  canvas.addEventListener("pointermove", move, { signal });
  canvas.addEventListener("pointerup", up, { signal });
  canvas.addEventListener("pointercancel", up, { signal });
  canvas.addEventListener("touchstart", touch, { signal, passive: false });
  canvas.addEventListener("wheel", wheel, { signal, passive: false });
  canvas.addEventListener("contextmenu", (event) => event.preventDefault(), { signal });
  keys.addEventListener("keydown", key, { signal });
  return () => stop.abort();
}
