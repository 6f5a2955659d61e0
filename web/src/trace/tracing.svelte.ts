/** The document on the page: what is chosen in it, every step saved at once, and the way back. */

import { get, post, Refusal } from "../frame/api";
import { messages } from "../frame/messages.svelte";
import type { AdviceOut, PictureOut, TraceOut } from "../frame/shapes";
import {
  cornered,
  curveTitle,
  inOrder,
  inserted,
  marked,
  markMoved,
  moved,
  whole,
  withCurve,
  without,
  withView,
  type Curve,
  type MarkName,
  type Place,
  type Trace,
  type View,
} from "./document";
import { Fairing } from "./fairing.svelte";

export type Tool = "move" | "draw" | MarkName;
export type End = "from" | "to";

interface Step {
  what: string;
  trace: Trace;
}

/** What is under the hand right now and not yet a step. */
export type Held =
  { kind: "point"; at: number; to: Place } | { kind: "mark"; mark: MarkName; end: End; to: Place };

const MOST_STEPS = 200;
const AGAIN_MS = 2000;

export class Tracing {
  trace = $state.raw<Trace | null>(null);
  pictures = $state.raw<readonly PictureOut[]>([]);
  file = $state("");
  used = $state(false);
  /** Of the document on disk, as far as this page knows. */
  base = $state("");
  /** Why there is nothing to show. */
  refusal = $state.raw<Refusal | null>(null);
  /** What was wrong with the last step that could not be saved; the page still holds it. */
  wrong = $state.raw<readonly AdviceOut[]>([]);
  advice = $state.raw<readonly AdviceOut[]>([]);
  /** Another window was faster: theirs, to be taken or written over. */
  theirs = $state.raw<TraceOut | null>(null);
  saving = $state(false);
  contact = $state(true);

  view = $state(0);
  curve = $state(0);
  point = $state<number | null>(null);
  tool = $state<Tool>("move");
  held = $state.raw<Held | null>(null);
  /** The first of two taps that set a mark. */
  begun = $state.raw<Place | null>(null);
  comb = $state(true);
  snap = $state(true);

  readonly fairing = new Fairing();
  #past = $state.raw<readonly Step[]>([]);
  #future = $state.raw<readonly Step[]>([]);
  #unsaved: Trace | null = null;
  #again: ReturnType<typeof setTimeout> | undefined;
  #closed = false;

  constructor(readonly boat: string) {}

  readonly nowView: View | null = $derived(this.trace?.view[this.view] ?? null);
  /** The view with what is under the hand. */
  readonly shown: View | null = $derived.by(() => {
    const [view, held] = [this.nowView, this.held];
    if (!view || !held) return view;
    if (held.kind === "mark") return markMoved(view, held.mark, held.end, held.to);
    return {
      ...view,
      curve: view.curve.map((one, index) => (index === this.curve ? moved(one, held.at, held.to) : one)),
    };
  });
  readonly nowCurve: Curve | null = $derived(this.shown?.curve[this.curve] ?? null);
  readonly picture: PictureOut | null = $derived(
    this.pictures.find((one) => one.name === this.nowView?.picture) ?? null,
  );
  readonly undoing: string | null = $derived(this.#past.at(-1)?.what ?? null);
  readonly redoing: string | null = $derived(this.#future.at(-1)?.what ?? null);

  async open(): Promise<void> {
    try {
      this.#take(await get("/api/boats/{boat}/trace", { path: { boat: this.boat } }));
      this.refusal = null;
      this.#startTool();
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.refusal = error;
    }
  }

  close(): void {
    this.#closed = true;
    clearTimeout(this.#again);
  }

  chooseView(at: number): void {
    if (!this.trace?.view[at]) return;
    this.view = at;
    this.curve = 0;
    this.#let();
    this.#startTool();
  }

  chooseCurve(at: number): void {
    if (!this.nowView?.curve[at]) return;
    this.curve = at;
    this.#let();
    this.#startTool();
  }

  choosePoint(at: number | null): void {
    this.point = at;
  }

  chooseTool(tool: Tool): void {
    this.tool = tool;
    this.begun = null;
    this.held = null;
    if (tool !== "move" && tool !== "draw") this.point = null;
  }

  /** Makes a step: shown at once, saved at once, and kept for the way back. */
  step(what: string, trace: Trace): void {
    if (!this.trace || trace === this.trace) return;
    this.#past = [...this.#past, { what, trace: this.trace }].slice(-MOST_STEPS);
    this.#future = [];
    this.#put(trace);
  }

  undo(): void {
    const step = this.#past.at(-1);
    if (!step || !this.trace) return;
    this.#past = this.#past.slice(0, -1);
    this.#future = [...this.#future, { what: step.what, trace: this.trace }];
    this.#put(step.trace);
  }

  redo(): void {
    const step = this.#future.at(-1);
    if (!step || !this.trace) return;
    this.#future = this.#future.slice(0, -1);
    this.#past = [...this.#past, { what: step.what, trace: this.trace }];
    this.#put(step.trace);
  }

  addPoint(place: Place, at?: number): void {
    const [trace, curve, view] = [this.trace, this.nowView?.curve[this.curve], this.nowView];
    if (!trace || !curve || !view) return;
    const [longer, where] = inserted(curve, place, at);
    const ordered = longer.points.length === 2 ? inOrder(longer, view) : longer;
    this.step(
      `Add a point to ${curveTitle(curve)}`,
      withCurve(trace, this.view, this.curve, () => ordered),
    );
    this.point = ordered === longer ? where : longer.points.length - 1 - where;
  }

  movePoint(at: number, place: Place): void {
    this.#onCurve(`Move point ${at + 1}`, (curve) => moved(curve, at, place));
  }

  removePoint(): void {
    const at = this.point;
    if (at === null) return;
    this.#onCurve(`Remove point ${at + 1}`, (curve) => without(curve, at));
    const count = this.nowCurve?.points.length ?? 0;
    this.point = count === 0 ? null : Math.min(at, count - 1);
  }

  turnCorner(): void {
    const at = this.point;
    if (at === null) return;
    const was = this.nowCurve?.corners.includes(at) ?? false;
    this.#onCurve(was ? `Make point ${at + 1} smooth` : `Make point ${at + 1} a corner`, (curve) =>
      cornered(curve, at),
    );
  }

  setMark(name: MarkName, from: Place, to: Place): void {
    this.onView(`Set the ${name} line`, (view) => marked(view, name, from, to));
  }

  moveMark(name: MarkName, end: End, place: Place): void {
    this.onView(`Move the ${name} line`, (view) => markMoved(view, name, end, place));
  }

  onView(what: string, change: (view: View) => View): void {
    if (this.trace && this.nowView)
      this.step(`${what} of ${this.nowView.name}`, withView(this.trace, this.view, change));
  }

  /** A view on a picture that was brought in, or on one that is here already. */
  async addView(wish: {
    kind: View["kind"];
    upload?: string;
    picture?: string;
    name?: string;
  }): Promise<boolean> {
    const before = this.trace;
    await this.settled();
    try {
      const body = { base: this.base, name: "", upload: null, picture: null, ...wish };
      const out = await post("/api/boats/{boat}/trace/views", { path: { boat: this.boat }, body });
      if (before) this.#past = [...this.#past, { what: `Add a ${wish.kind} view`, trace: before }];
      this.#future = [];
      this.#take(out);
      this.chooseView(out.trace.view ? out.trace.view.length - 1 : 0);
      return true;
    } catch (error) {
      if (error instanceof Refusal && error.stale) await this.#late();
      else messages.refused("The view was not added", error);
      return false;
    }
  }

  /** What the other window made becomes this page's; what was here is one step back. */
  takeTheirs(): void {
    const out = this.theirs;
    if (!out) return;
    if (this.trace)
      this.#past = [...this.#past, { what: "Take the other window's trace", trace: this.trace }];
    this.#future = [];
    this.theirs = null;
    this.#unsaved = null;
    this.#take(out);
  }

  /** What is here is written over the other window's. */
  keepMine(): void {
    const out = this.theirs;
    if (!out || !this.trace) return;
    this.theirs = null;
    this.base = out.base;
    this.#unsaved = this.trace;
    void this.#save();
  }

  /** Resolves when everything was tried to be saved. */
  async settled(): Promise<void> {
    while (this.saving) await new Promise((resolve) => setTimeout(resolve, 10));
  }

  #onCurve(what: string, change: (curve: Curve) => Curve): void {
    const curve = this.nowView?.curve[this.curve];
    if (this.trace && curve)
      this.step(`${what} of ${curveTitle(curve)}`, withCurve(this.trace, this.view, this.curve, change));
  }

  #put(trace: Trace): void {
    this.trace = trace;
    this.held = null;
    this.#inside();
    this.#unsaved = trace;
    void this.#save();
  }

  /** What was chosen may be gone after a step. */
  #inside(): void {
    const views = this.trace?.view ?? [];
    if (this.view >= views.length) this.view = Math.max(views.length - 1, 0);
    const curves = views[this.view]?.curve ?? [];
    if (this.curve >= curves.length) this.curve = Math.max(curves.length - 1, 0);
    const count = curves[this.curve]?.points.length ?? 0;
    if (this.point !== null && this.point >= count) this.point = null;
  }

  async #save(): Promise<void> {
    if (this.saving || this.theirs || this.#closed) return;
    this.saving = true;
    try {
      while (this.#unsaved) {
        const trace = this.#unsaved;
        this.#unsaved = null;
        try {
          const body = { base: this.base, trace };
          const out = await post("/api/boats/{boat}/trace", { path: { boat: this.boat }, body });
          [this.base, this.pictures, this.advice, this.used] = [out.base, out.pictures, out.advice, out.used];
          this.wrong = [];
          this.contact = true;
        } catch (error) {
          if (!(error instanceof Refusal)) throw error;
          if (error.stale) await this.#late();
          else if (error.noContact) this.#later(trace);
          else this.wrong = error.advice;
          return;
        }
      }
    } finally {
      this.saving = false;
    }
  }

  #later(trace: Trace): void {
    this.contact = false;
    this.#unsaved ??= trace;
    clearTimeout(this.#again);
    this.#again = setTimeout(() => void this.#save(), AGAIN_MS);
  }

  async #late(): Promise<void> {
    try {
      this.theirs = await get("/api/boats/{boat}/trace", { path: { boat: this.boat } });
    } catch (error) {
      messages.refused("The trace was changed elsewhere and cannot be read", error);
    }
  }

  #take(out: TraceOut): void {
    const trace = whole(out.trace);
    this.trace = trace;
    [this.base, this.file, this.used] = [out.base, out.file, out.used];
    [this.pictures, this.advice] = [out.pictures, out.advice];
    trace.view.forEach((view, at) =>
      view.curve.forEach((curve, which) => {
        const drawn = out.drawn[at]?.[which];
        if (drawn) this.fairing.know(slotOf(at, which), curve, drawn);
      }),
    );
    this.#inside();
  }

  #let(): void {
    this.point = null;
    this.held = null;
    this.begun = null;
  }

  /** A line without points is there to be drawn; one that has some, to be mended. */
  #startTool(): void {
    if (this.tool !== "move" && this.tool !== "draw") return;
    this.tool = (this.nowView?.curve[this.curve]?.points.length ?? 0) < 2 ? "draw" : "move";
  }
}

export function slotOf(view: number, curve: number): string {
  return `${view}/${curve}`;
}
