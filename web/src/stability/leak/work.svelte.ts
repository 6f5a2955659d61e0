/** Letting water in on the server: started anew whenever the boat or the question changes, the old answer kept. */
import { get, post } from "../../frame/api";
import type { LeakAsk, LeakOut } from "../../frame/shapes";
import { Work } from "../../frame/work.svelte";

export class LeakWork extends Work {
  found = $state.raw<LeakOut | null>(null);

  constructor(readonly boat: string) {
    super();
  }

  async look(body: LeakAsk): Promise<void> {
    await this.long(
      () => post("/api/boats/{boat}/leak", { path: { boat: this.boat }, body }),
      (job) => get("/api/jobs/{job}/leak", { path: { job } }),
      (found) => (this.found = found),
    );
  }
}
