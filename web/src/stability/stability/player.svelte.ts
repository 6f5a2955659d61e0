/** The place on the way that everything shows, moved by hand or playing by itself; and the tumble where she goes over. */

import type { FrameOut } from "../../frame/shapes";
import type { Pose, Vec3 } from "../../scene/vectors";
import { blended, overBetween, pictureAt, type Picture } from "./dive";
import { END, keyed, stepped, type Stop } from "./way";

/** One way at the plain speed. */
const WAY_MS = 9000;
const TUMBLE_MS = 1400;
/** After a tumble the word stands for a moment before she goes on. */
const REST_MS = 700;
/** A hand that goes farther than this in one go looks for a place; it does not follow her over. */
const LEAP = 0.3;
/** With motion turned down, she is seen at one stage after the other. */
const STEP_MS = 900;

export interface Clock {
  now: () => number;
  next: (act: (now: number) => void) => number;
  stop: (request: number) => void;
}

const WINDOW: Clock = {
  now: () => performance.now(),
  next: (act) => requestAnimationFrame(act),
  stop: (request) => cancelAnimationFrame(request),
};

export class Player {
  at = $state(0);
  playing = $state(false);
  speed = $state(1);
  frames = $state.raw<readonly FrameOut[]>([]);
  stops = $state.raw<readonly Stop[]>([]);
  /** Where she comes to when she has played to the end. */
  home = 0;
  /** The frame that she is going over into, how far, and since when. */
  #tumble = $state.raw<{ into: number; share: number; start: number } | null>(null);
  /** The frame that she went over into with the last move, while she lies there. */
  #fell = $state<number | null>(null);
  #request: number | null = null;
  #last = 0;

  constructor(
    private readonly still: () => boolean,
    private readonly clock: Clock = WINDOW,
  ) {}

  picture(middle: Vec3): Picture | null {
    const tumble = this.#tumble;
    const [from, to] = tumble ? [this.frames[tumble.into - 1], this.frames[tumble.into]] : [];
    if (tumble && from && to) {
      const share = tumble.share * tumble.share * (3 - 2 * tumble.share);
      const pose: Pose = blended(from.pose, to.pose, share, middle);
      return { pose, frame: to, index: tumble.share < 0.5 ? tumble.into - 1 : tumble.into };
    }
    if (!this.still()) return pictureAt(this.frames, this.at, middle);
    const shown = pictureAt(this.frames, this.at, middle);
    return shown && { ...shown, pose: shown.frame.pose };
  }

  /** What is to be said over the picture. */
  note(picture: Picture | null): string {
    const fallen = this.#tumble?.into ?? this.#fell;
    if (fallen !== null) return this.frames[fallen]?.note ?? "";
    return picture?.frame.went_over ? "" : (picture?.frame.note ?? "");
  }

  get tumbling(): boolean {
    return this.#tumble !== null;
  }

  /** By hand: what plays stops. */
  go(to: number): void {
    this.playing = false;
    this.#move(Math.min(END, Math.max(0, to)));
  }

  /** What a key does; true where it was one of these keys. */
  key(key: string): boolean {
    const to = keyed(key, this.stops, this.at);
    if (to === null) return false;
    this.go(to);
    return true;
  }

  play(): void {
    if (this.at >= END - 1e-9) this.#show(0);
    this.playing = true;
    this.#last = this.clock.now();
    this.#run();
  }

  pause(): void {
    this.playing = false;
  }

  /** A new dive: whatever moved stands still. */
  set(frames: readonly FrameOut[], stops: readonly Stop[], home: number): void {
    this.playing = false;
    this.#tumble = null;
    this.#fell = null;
    [this.frames, this.stops, this.home] = [frames, stops, home];
  }

  close(): void {
    this.playing = false;
    if (this.#request !== null) this.clock.stop(this.#request);
    this.#request = null;
  }

  #show(at: number): void {
    this.#tumble = null;
    this.#fell = null;
    this.at = at;
  }

  #move(to: number): void {
    const over = overBetween(this.frames, this.at, to);
    this.#show(to);
    if (over === null || to - (this.frames[over]?.at ?? to) > LEAP) return;
    this.#fell = over;
    if (this.still()) return;
    this.#tumble = { into: over, share: 0, start: this.clock.now() };
    this.#run();
  }

  #run(): void {
    this.#request ??= this.clock.next((now) => this.#frame(now));
  }

  #frame(now: number): void {
    this.#request = null;
    if (this.#tumble) this.#tumbleOn(now);
    else if (this.playing) this.#playOn(now);
    if (this.#tumble || this.playing) this.#run();
  }

  #tumbleOn(now: number): void {
    const tumble = this.#tumble;
    if (!tumble) return;
    const passed = now - tumble.start;
    if (passed < TUMBLE_MS + REST_MS) {
      this.#tumble = { ...tumble, share: Math.min(1, Math.max(0, passed / TUMBLE_MS)) };
      return;
    }
    this.#tumble = null;
    this.#last = now;
  }

  #playOn(now: number): void {
    const passed = Math.max(0, now - this.#last) * this.speed;
    if (this.still()) {
      if (passed < STEP_MS) return;
      this.#last = now;
      this.#move(stepped(this.stops, this.at, 1));
    } else {
      this.#last = now;
      const to = Math.min(END, this.at + passed / WAY_MS);
      const over = overBetween(this.frames, this.at, to);
      this.#move(over === null ? to : (this.frames[over]?.at ?? to));
    }
    if (this.at < END - 1e-9 || this.#tumble) return;
    this.playing = false;
    if (!this.still()) this.#show(this.home);
  }
}
