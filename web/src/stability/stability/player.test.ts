import { describe, expect, it } from "vitest";
import type { FrameOut } from "../../frame/shapes";
import { UPRIGHT } from "../../scene/vectors";
import { Player, type Clock } from "./player.svelte";

function frame(at: number, went_over = false, under = false): FrameOut {
  const note = went_over ? "She goes over" : under ? "Wholly under, and sinking" : "";
  return { at, progress: at, pose: [...UPRIGHT], went_over, under, note, waters: [] };
}

const FRAMES = [frame(0), frame(0.5), frame(0.500001, true), frame(1, false, true), frame(2)];
const STOPS = [0, 0.25, 0.5, 0.75, 1, 1.5, 2].map((at) => ({ at }));

/** A clock that runs when it is told to. */
class Hand implements Clock {
  time = 0;
  waiting: ((now: number) => void) | null = null;
  now = () => this.time;
  next = (act: (now: number) => void) => {
    this.waiting = act;
    return 1;
  };
  stop = () => {
    this.waiting = null;
  };

  run(ms: number, step = 20): void {
    for (let passed = 0; passed < ms; passed += step) {
      this.time += step;
      const act = this.waiting;
      this.waiting = null;
      act?.(this.time);
    }
  }
}

function ready(still = false): { player: Player; clock: Hand } {
  const clock = new Hand();
  const player = new Player(() => still, clock);
  player.set(FRAMES, STOPS, 0.75);
  return { player, clock };
}

describe("playing", () => {
  it("runs down one way in nine seconds, and in half of it at twice the speed", () => {
    const { player, clock } = ready();
    player.play();
    clock.run(1800);
    expect(player.at).toBeCloseTo(0.2, 2);
    player.speed = 2;
    clock.run(900);
    expect(player.at).toBeCloseTo(0.4, 2);
    player.pause();
    clock.run(1000);
    expect(player.at).toBeCloseTo(0.4, 2);
  });

  it("stops to tumble where she goes over, says so, and then goes on", () => {
    const { player, clock } = ready();
    player.go(0.45);
    player.play();
    clock.run(1000);
    expect(player.tumbling).toBe(true);
    expect(player.at).toBe(0.500001);
    expect(player.note(player.picture([0, 0, 0]))).toBe("She goes over");
    clock.run(2500);
    expect(player.tumbling).toBe(false);
    expect(player.at).toBeGreaterThan(0.51);
    expect(player.note(player.picture([0, 0, 0]))).toBe("");
  });

  it("comes to the least stable moment when it has played to the end", () => {
    const { player, clock } = ready();
    player.go(1.9);
    player.play();
    clock.run(2000);
    expect([player.playing, player.at]).toEqual([false, 0.75]);
  });
});

describe("by hand", () => {
  it("tumbles when a step leads over the place, but not on the way back, nor when it goes far", () => {
    const { player } = ready();
    player.key("End");
    expect(player.tumbling).toBe(false);
    player.go(0.5);
    player.key("ArrowRight");
    expect(player.tumbling).toBe(true);
    player.go(0.25);
    expect([player.tumbling, player.note(player.picture([0, 0, 0]))]).toEqual([false, ""]);
  });

  it("stops what plays", () => {
    const { player } = ready();
    player.play();
    expect(player.key("ArrowRight")).toBe(true);
    expect([player.playing, player.at]).toEqual([false, 0.25]);
    expect(player.key("x")).toBe(false);
  });
});

describe("with motion turned down", () => {
  it("steps from stage to stage and tumbles not at all, but says that she went over", () => {
    const { player, clock } = ready(true);
    player.go(0.25);
    player.play();
    clock.run(920);
    expect(player.at).toBe(0.5);
    clock.run(920);
    expect([player.at, player.tumbling]).toEqual([0.75, false]);
    expect(player.note(player.picture([0, 0, 0]))).toBe("She goes over");
    clock.run(920);
    expect(player.note(player.picture([0, 0, 0]))).toBe("Wholly under, and sinking");
  });
});
