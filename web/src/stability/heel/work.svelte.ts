/** What heels her, asked of the server: at once while fields change, as long work for the least stable moment. */
import { get, post } from "../../frame/api";
import type { HeelAsk, HeelOut } from "../../frame/shapes";
import { Work } from "../../frame/work.svelte";

export class HeelWork extends Work {
  found = $state.raw<HeelOut | null>(null);

  constructor(readonly boat: string) {
    super();
  }

  async ask(body: HeelAsk, least: boolean): Promise<void> {
    const path = { boat: this.boat };
    const take = (found: HeelOut) => (this.found = found);
    if (!least) return this.short(() => post("/api/boats/{boat}/heel", { path, body }), take);
    return this.long(
      () => post("/api/boats/{boat}/heel/least", { path, body }),
      (job) => get("/api/jobs/{job}/heel", { path: { job } }),
      take,
    );
  }
}
