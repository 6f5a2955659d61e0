import { describe, expect, it } from "vitest";
import type { Answer, BoatState, Change, Op } from "../frame/shapes";
import { WhatIf, type Boat } from "./what_if.svelte";

const SHIFT: Op = { op: "shift", table: "part", row: 3, by_m: [0.01, 0, 0] };

let boats = 0;

/** A boat whose server answers when the test says so. */
function bench() {
  const asks: { fills: Record<string, number>; changes: Change[] }[] = [];
  let settle: (made: boolean) => void = () => undefined;
  const store = {
    boat: `boat ${boats++}`,
    state: { revision: 7, figures_revision: 7, tanks: [{ key: "tank[0]" }, { key: "tank[1]" }] } as BoatState,
    live: {
      answer: null,
      refused: null,
      ask: (fills: Record<string, number>, changes: Change[]) => asks.push({ fills, changes }),
    },
    edit: () => new Promise<boolean>((resolve) => (settle = resolve)),
  } satisfies Boat;
  const whatIf = new WhatIf(store);
  whatIf.drew(7);
  return {
    store,
    asks,
    whatIf,
    last: () => asks.at(-1),
    at: (revision: number, figures = revision) => {
      store.state = { ...store.state, revision, figures_revision: figures };
    },
    settle: async (made: boolean) => {
      settle(made);
      await Promise.resolve();
      await Promise.resolve();
    },
    answered: (seq: number, revision: number) => {
      const answer = { kind: "answer", seq, revision } as Answer;
      whatIf.hear(answer);
      return answer;
    },
  };
}

describe("fills", () => {
  it("are asked for together", () => {
    const { whatIf, last } = bench();
    whatIf.fill("tank[0]", 0.4);
    whatIf.fill("tank[1]", 1);
    expect(last()).toEqual({ fills: { "tank[0]": 0.4, "tank[1]": 1 }, changes: [] });
  });

  it("of a tank that is gone are not asked for", () => {
    const { whatIf, last } = bench();
    whatIf.fill("tank[5]", 0.4);
    expect(last()?.fills).toEqual({});
  });

  it("are still there when the page is opened again", () => {
    const { store, whatIf } = bench();
    whatIf.fill("tank[0]", 0.25);
    expect(new WhatIf(store).share("tank[0]")).toBe(0.25);
  });
});

describe("a part that is moved", () => {
  it("is drawn and asked for where it is held", () => {
    const { whatIf, last } = bench();
    whatIf.move("part[3]", [0.01, 0, 0]);
    expect(whatIf.shifts).toEqual({ "part[3]": [0.01, 0, 0] });
    expect(last()?.changes).toEqual([{ key: "part[3]", shift_m: [0.01, 0, 0], mass: null }]);
  });

  it("takes along what it carries", () => {
    const { whatIf, last } = bench();
    whatIf.move("part[1]", [0.01, 0, 0], ["part[3]"]);
    expect(whatIf.shifts).toEqual({ "part[1]": [0.01, 0, 0], "part[3]": [0.01, 0, 0] });
    expect(last()?.changes.map((change) => change.key)).toEqual(["part[1]", "part[3]"]);
  });

  it("is named once, however often it was moved", () => {
    const { whatIf, last } = bench();
    whatIf.move("part[3]", [0.01, 0, 0]);
    void whatIf.keep("part[3]", "Move battery", [SHIFT]);
    // On its way still, and already moved on.
    whatIf.move("part[3]", [0.002, 0, 0]);
    expect(last()?.changes).toHaveLength(1);
    expect(last()?.changes[0]?.shift_m?.[0]).toBeCloseTo(0.012);
  });

  it("goes back where it came from when it is taken back", () => {
    const { whatIf, last } = bench();
    whatIf.move("part[3]", [0.01, 0, 0]);
    whatIf.takeBack("part[3]");
    expect(whatIf.shifts).toEqual({});
    expect(last()?.changes).toEqual([]);
  });

  it("never jumps back between saving and the new scene, nor is it ever moved twice", async () => {
    const { whatIf, last, at, settle } = bench();
    whatIf.move("part[3]", [0.01, 0, 0]);
    const kept = whatIf.keep("part[3]", "Move battery", [SHIFT]);
    expect(whatIf.settling).toBe(true);
    expect(whatIf.shifts).toEqual({ "part[3]": [0.01, 0, 0] });
    at(8);
    await settle(true);
    expect(await kept).toBe(true);
    // Saved: asked for no more, but drawn until the scene holds it.
    expect(last()?.changes).toEqual([]);
    expect(whatIf.shifts).toEqual({ "part[3]": [0.01, 0, 0] });
    whatIf.drew(8);
    expect(whatIf.shifts).toEqual({});
  });

  it("may be moved on before the new scene is there", async () => {
    const { whatIf, last, at, settle } = bench();
    whatIf.move("part[3]", [0.01, 0, 0]);
    void whatIf.keep("part[3]", "Move battery", [SHIFT]);
    at(8);
    await settle(true);
    whatIf.move("part[3]", [0.002, 0, 0]);
    expect(whatIf.shifts["part[3]"]?.[0]).toBeCloseTo(0.012);
    expect(last()?.changes.map((change) => change.shift_m)).toEqual([[0.002, 0, 0]]);
    whatIf.drew(8);
    expect(whatIf.shifts["part[3]"]?.[0]).toBeCloseTo(0.002);
  });

  it("goes back when saving failed", async () => {
    const { whatIf, settle } = bench();
    whatIf.move("part[3]", [0.01, 0, 0]);
    void whatIf.keep("part[3]", "Move battery", [SHIFT]);
    await settle(false);
    expect(whatIf.shifts).toEqual({});
  });

  it("goes back when the new text is faulty, since pictures then show the last right boat", async () => {
    const { whatIf, at, settle } = bench();
    whatIf.move("part[3]", [0.01, 0, 0]);
    void whatIf.keep("part[3]", "Move battery", [SHIFT]);
    at(8, 7);
    await settle(true);
    expect(whatIf.shifts).toEqual({});
  });

  it("is not asked about while nobody can say which text holds it", () => {
    const { whatIf, asks, at } = bench();
    whatIf.move("part[3]", [0.01, 0, 0]);
    void whatIf.keep("part[3]", "Move battery", [SHIFT]);
    at(8);
    const before = asks.length;
    whatIf.fill("tank[0]", 0.5);
    expect(asks).toHaveLength(before);
  });
});

describe("an answer", () => {
  it("counts when it was worked out on the text it was asked on", () => {
    const { whatIf, answered } = bench();
    whatIf.ask();
    const answer = answered(1, 7);
    expect(whatIf.answer).toBe(answer);
  });

  it("does not count when the boat changed under it, and is asked for again", () => {
    const { whatIf, asks, answered } = bench();
    whatIf.ask();
    answered(1, 8);
    expect(whatIf.answer).toBeNull();
    expect(asks).toHaveLength(2);
  });
});
