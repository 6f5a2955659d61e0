/** Looking for free room on the server: started anew whenever the boat or the question changes, the old answer kept. */
import { get, post } from "../../frame/api";
import type { SpaceOut } from "../../frame/shapes";
import { Work } from "../../frame/work.svelte";

export class SpaceWork extends Work {
  found = $state.raw<SpaceOut | null>(null);

  constructor(readonly boat: string) {
    super();
  }

  async look(cell: string, clearance: string): Promise<void> {
    const body = { cell: cell.trim() || null, clearance: clearance.trim() || null };
    await this.long(
      () => post("/api/boats/{boat}/space", { path: { boat: this.boat }, body }),
      (job) => get("/api/jobs/{job}/space", { path: { job } }),
      (found) => (this.found = found),
    );
  }
}
