/** Air and depth, asked of the server: at once for her tanks, as long work with the air trapped in her. */
import { get, post } from "../../frame/api";
import type { SqueezeAsk, SqueezeOut } from "../../frame/shapes";
import { Work } from "../../frame/work.svelte";

export class SqueezeWork extends Work {
  found = $state.raw<SqueezeOut | null>(null);

  constructor(readonly boat: string) {
    super();
  }

  async look(body: SqueezeAsk, trapped: boolean): Promise<void> {
    const path = { boat: this.boat };
    const take = (found: SqueezeOut) => (this.found = found);
    if (!trapped) return this.short(() => post("/api/boats/{boat}/squeeze", { path, body }), take);
    return this.long(
      () => post("/api/boats/{boat}/squeeze/air", { path, body }),
      (job) => get("/api/jobs/{job}/squeeze", { path: { job } }),
      take,
    );
  }
}
