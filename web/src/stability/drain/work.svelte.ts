/** Following the water on the server: started when asked, the old answer kept until the new one is there. */
import { get, post, Refusal } from "../../frame/api";
import { JobWatch } from "../../frame/job.svelte";
import type { AdviceOut, DrainOut } from "../../frame/shapes";

export interface Asked {
  blow: string;
  fill: string;
  limit: string;
  cd: string;
}

export class DrainWork {
  found = $state.raw<DrainOut | null>(null);
  watch = $state.raw<JobWatch | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  stopped = $state(false);
  #turn = 0;

  constructor(readonly boat: string) {}

  async look(asked: Asked): Promise<void> {
    this.#turn += 1;
    const turn = this.#turn;
    await this.leave();
    [this.trouble, this.stopped] = [[], false];
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
    try {
      const watch = new JobWatch(await post("/api/boats/{boat}/drain", { path: { boat: this.boat }, body }));
      if (turn !== this.#turn) return void (await watch.leave());
      this.watch = watch;
      const end = await watch.end;
      if (turn !== this.#turn) return;
      this.watch = null;
      if (end.state === "done") {
        this.found = await get("/api/jobs/{job}/drain", { path: { job: end.job } });
      } else if (end.state === "failed") this.trouble = end.advice;
      else this.stopped = true;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      if (turn === this.#turn) [this.watch, this.trouble] = [null, error.advice];
    }
  }

  /** Ends work that nobody waits for any more. */
  async leave(): Promise<void> {
    const watch = this.watch;
    this.watch = null;
    await watch?.leave();
  }

  async cancel(): Promise<void> {
    await this.watch?.leave();
  }
}
