/** A long piece of work on the server: where it stands, and its end. */
import { get, Refusal, remove } from "./api";
import type { JobOut } from "./shapes";

const EVERY_MS = 250;

export class JobWatch {
  now = $state.raw<JobOut>({ job: "", what: "", state: "running", text: "", share: 0, advice: [] });
  /** Settles when the work is done, failed or cancelled; rejects with the refusal when it cannot be asked. */
  readonly end: Promise<JobOut>;

  constructor(
    first: JobOut,
    private readonly every = EVERY_MS,
  ) {
    this.now = first;
    this.end = this.#follow();
  }

  async cancel(): Promise<void> {
    this.now = await remove("/api/jobs/{job}", { path: { job: this.now.job } });
  }

  /** Ends work whose answer nobody waits for any more. */
  async leave(): Promise<void> {
    if (this.now.state !== "running") return;
    try {
      await this.cancel();
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      // Ended or forgotten already, or out of reach: either way there is nothing left to leave.
    }
  }

  async #follow(): Promise<JobOut> {
    while (this.now.state === "running") {
      await new Promise((resolve) => setTimeout(resolve, this.every));
      if (this.now.state !== "running") break;
      try {
        const told = await get("/api/jobs/{job}", { path: { job: this.now.job } });
        if (this.now.state === "running") this.now = told;
      } catch (error) {
        // A line that breaks for a moment does not end the work.
        if (!(error instanceof Refusal) || !error.noContact) throw error;
      }
    }
    return this.now;
  }
}
