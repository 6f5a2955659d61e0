/** The weight list of one boat as the page holds it: fetched anew with every change, with what is being typed on top. */
import { SvelteMap } from "svelte/reactivity";
import { get, post, Refusal } from "../frame/api";
import type { BoatStore } from "../frame/boat.svelte";
import { messages } from "../frame/messages.svelte";
import type { Cell, Op, WeightRow, WeightsOut } from "../frame/shapes";
import { who } from "../frame/who.svelte";
import type { Column } from "./columns";
import { nameOf } from "./rows";

export class WeightList {
  now = $state.raw<WeightsOut | null>(null);
  refusal = $state.raw<Refusal | null>(null);
  /** Typed and on its way to the file, by row and column. */
  readonly going = new SvelteMap<string, string>();
  #asked = 0;
  #queue: Promise<unknown> = Promise.resolve();

  constructor(private readonly store: BoatStore) {}

  typed(key: string, column: Column): string | undefined {
    return this.going.get(`${key} ${column}`);
  }

  async fetch(): Promise<void> {
    const asked = ++this.#asked;
    try {
      const list = await get("/api/boats/{boat}/weights", { path: { boat: this.store.boat } });
      if (asked !== this.#asked) return;
      this.now = list;
      this.refusal = null;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      // Without contact the list on the page stays readable; the frame says that the line is down.
      if (asked === this.#asked && !(error.noContact && this.now)) this.refusal = error;
    }
  }

  /**
   * Writes one cell, in whatever unit was typed. Cells are written one after the other, in the order of typing.
   * `row` and `seen` are what the builder looked at when typing began: what another hand wrote since is not written over.
   */
  write(row: WeightRow, column: Column, text: string, seen = this.now?.revision ?? 0): Promise<boolean> {
    const cell = row.cells[column];
    if (!cell || text === cell.text) return Promise.resolve(true);
    this.#put(row.key, column, text);
    const turn = this.#queue.then(() => this.#write(row, column, cell, text, seen));
    // A fault of one cell must not hold up the next; whoever asked for it sees it.
    this.#queue = turn.catch(() => undefined);
    return turn;
  }

  async #write(row: WeightRow, column: Column, cell: Cell, text: string, base: number): Promise<boolean> {
    const row_name = row.table === "skin" ? null : (row.cells.name?.text ?? null);
    try {
      const body = {
        base,
        by: who.name,
        table: row.table,
        row: row.row,
        row_name,
      };
      const state = await post("/api/boats/{boat}/weights/cell", {
        path: { boat: this.store.boat },
        body: { ...body, column, text, was: cell.text },
      });
      this.store.take(state);
      await this.fetch();
      return true;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (error.stale || error.noContact) {
        await this.#keep(error, {
          what: `${column} of ${nameOf(row)}: ${text}`,
          ops: [{ op: "put", path: cell.path, value: text, was: cell.value, row_name }],
        });
      } else {
        messages.advise(`“${text}” was not written`, error.advice);
      }
      return false;
    } finally {
      this.#put(row.key, column, undefined);
    }
  }

  /** What was typed is kept by the frame, which says why it was not made and offers it again. */
  async #keep(error: Refusal, step: { what: string; ops: Op[] }): Promise<void> {
    if (error.stale) await this.store.refresh();
    else this.store.contact = false;
    const by = error.stale ? (this.store.elsewhere?.by ?? "") : "";
    this.store.unmade = { ...step, by, reason: error.stale ? "changed" : "no contact" };
    await this.fetch();
  }

  #put(key: string, column: Column, text: string | undefined): void {
    if (text === undefined) this.going.delete(`${key} ${column}`);
    else this.going.set(`${key} ${column}`, text);
  }
}
