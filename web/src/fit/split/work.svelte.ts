/** A break line that is being tried: the line as it stands on the page, and the last answer on it. */
import { post, Refusal } from "../../frame/api";
import type { AdviceOut, SplitAsk, SplitOut } from "../../frame/shapes";
import type { Flat } from "./points";

export class SplitWork {
  answer = $state.raw<SplitOut | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  /** As dragged, until the answer on it is there. */
  points = $state.raw<readonly Flat[]>([]);
  /** As typed, x and z of each point; what cannot be read stays for the builder to correct. */
  texts = $state.raw<readonly (readonly [string, string])[]>([]);
  /** The line differs from the one in the file. */
  tried = $state(false);
  #asking = false;
  #next: SplitAsk | null = null;

  constructor(readonly boat: string) {}

  /** The line of the file, or the one that is being tried, on the boat as she is now. */
  async look(): Promise<void> {
    await this.#ask(this.tried ? { points_m: this.points.map(([x, z]) => [x, z]) } : {});
  }

  async fromFile(): Promise<void> {
    this.tried = false;
    await this.#ask({});
  }

  async drag(points: readonly Flat[]): Promise<void> {
    [this.points, this.tried] = [points, true];
    await this.#ask({ points_m: points.map(([x, z]) => [x, z]) });
  }

  async type(texts: readonly (readonly [string, string])[]): Promise<void> {
    [this.texts, this.tried] = [texts, true];
    await this.#ask({ points: texts.map(([x, z]) => [x, z]) });
  }

  async level(height: string): Promise<void> {
    this.tried = true;
    await this.#ask({ points: [["0", height]] });
  }

  /** One question at a time; while it is under way only the newest waits. */
  async #ask(body: SplitAsk): Promise<void> {
    this.#next = body;
    if (this.#asking) return;
    this.#asking = true;
    try {
      while (this.#next) {
        const asked: SplitAsk = this.#next;
        this.#next = null;
        try {
          const answer = await post("/api/boats/{boat}/split", { path: { boat: this.boat }, body: asked });
          this.answer = answer;
          this.trouble = [];
          if (this.#next === null) [this.points, this.texts] = [answer.points_m, answer.texts];
        } catch (error) {
          if (!(error instanceof Refusal)) throw error;
          this.trouble = error.advice;
        }
      }
    } finally {
      this.#asking = false;
    }
  }
}
