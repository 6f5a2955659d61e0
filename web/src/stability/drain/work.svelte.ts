/** Following the water on the server: started when asked, the old answer kept until the new one is there. */
import { get, post } from "../../frame/api";
import type { DrainOut } from "../../frame/shapes";
import { Work } from "../../frame/work.svelte";

export interface Asked {
  blow: string;
  fill: string;
  limit: string;
  cd: string;
}

export class DrainWork extends Work {
  found = $state.raw<DrainOut | null>(null);

  constructor(readonly boat: string) {
    super();
  }

  async look(asked: Asked): Promise<void> {
    const cd = asked.cd.trim().replace(",", ".");
    if (cd !== "" && !Number.isFinite(Number(cd))) {
      this.trouble = [
        {
          severity: "error",
          what: "The coefficient is no number.",
          todo: "Give one such as 0.62.",
          where: "",
          key: "cd",
          given: asked.cd,
          allowed: "0.1 to 1",
        },
      ];
      return;
    }
    const body = {
      blow: asked.blow.trim() || null,
      fill: asked.fill.trim() || null,
      limit: asked.limit.trim() || null,
      cd: cd === "" ? null : Number(cd),
    };
    await this.long(
      () => post("/api/boats/{boat}/drain", { path: { boat: this.boat }, body }),
      (job) => get("/api/jobs/{job}/drain", { path: { job } }),
      (found) => (this.found = found),
    );
  }
}
