/** A file on its way to become a hull: brought in, looked at in a unit, turned, mended if asked, and only then used. */

import { get, post, Refusal } from "../frame/api";
import { JobWatch } from "../frame/job.svelte";
import type { AdviceOut, JobOut, LookOut, RepairOut, UploadOut } from "../frame/shapes";
import { likelyLie, type Lie } from "./turn";

export const UNITS = ["mm", "cm", "m", "in", "ft"] as const;
export type Unit = (typeof UNITS)[number];

/** What the server needs to know of a file that is to be a hull. */
export interface Chosen {
  upload: string;
  unit: Unit | null;
  bow: Lie["bow"];
  up: Lie["up"];
  solid_walled: boolean;
  separate_shells: boolean;
}

export class BringIn {
  upload = $state.raw<UploadOut | null>(null);
  look = $state.raw<LookOut | null>(null);
  unit = $state<Unit | null>(null);
  lie = $state.raw<Lie>({ bow: "+x", up: "+z" });
  solidWalled = $state(false);
  separate = $state(false);
  /** What a repair has changed; shown before the mended copy is taken. */
  repair = $state.raw<RepairOut | null>(null);
  /** The file as it was brought in, once its mended copy is used in its place. */
  original = $state.raw<UploadOut | null>(null);
  sending = $state<string | null>(null);
  watch = $state.raw<JobWatch | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  /** How the file was read in the last look. */
  #seen = $state.raw<{ unit: Unit | null; separate: boolean }>({ unit: null, separate: false });
  /** Counts the pieces of work; the answer of an older one is left aside. */
  #turn = 0;

  // Plain getters rather than derived values: a draft of a boat outlives the page on which it was begun.

  get busy(): boolean {
    return this.sending !== null || this.watch !== null;
  }

  get isMesh(): boolean {
    return this.upload?.kind === "mesh";
  }

  get mended(): boolean {
    return this.original !== null;
  }

  /** The file says nothing of walls; that it is all wall is seen in it. */
  get needsWalls(): boolean {
    return (this.look?.solid_walled ?? false) && !this.solidWalled;
  }

  /** What is still in the way of using it, in a few words; empty when nothing is. */
  get missing(): string {
    if (this.busy) return "The file is being looked at.";
    if (!this.upload) return "Choose a file first.";
    if (!this.look) return "The file could not be read. Look again, or choose another one.";
    if (this.repair) return "Decide about the mended copy first.";
    if (this.isMesh && this.look.units.length > 0 && this.unit === null)
      return "Choose the unit of the file.";
    if (this.#seen.unit !== this.unit || this.#seen.separate !== this.separate) {
      return "Look at the file again first.";
    }
    if (!this.look.sound) return "The file has faults. Repair it, or mend it in your drawing program.";
    if (this.needsWalls) return "Say that the mesh is the material itself.";
    return "";
  }

  get chosen(): Chosen | null {
    if (!this.upload || this.missing !== "") return null;
    return {
      upload: this.upload.upload,
      unit: this.isMesh ? this.unit : null,
      bow: this.lie.bow,
      up: this.lie.up,
      solid_walled: this.isMesh && this.solidWalled,
      separate_shells: this.isMesh && this.separate,
    };
  }

  async take(file: File): Promise<void> {
    const turn = this.#begin();
    this.sending = file.name;
    this.trouble = [];
    try {
      const upload = await post("/api/uploads", { query: { name: file.name }, body: file });
      if (turn !== this.#turn) return;
      this.forget();
      this.upload = upload;
    } catch (error) {
      if (turn === this.#turn) this.#refused(error);
      return;
    } finally {
      if (this.sending === file.name) this.sending = null;
    }
    await this.#look();
  }

  async choose(unit: Unit): Promise<void> {
    this.unit = unit;
    this.repair = null;
    await this.#look();
  }

  async setSeparate(separate: boolean): Promise<void> {
    this.separate = separate;
    this.repair = null;
    await this.#look();
  }

  async mend(): Promise<void> {
    const upload = this.upload;
    if (!upload || this.unit === null) return;
    const how = { unit: this.unit, separate_shells: this.separate };
    const job = await this.#work(() =>
      post("/api/uploads/{upload}/repair", { path: { upload: upload.upload }, body: how }),
    );
    if (job)
      await this.#answer(async () => (this.repair = await get("/api/jobs/{job}/repair", { path: { job } })));
  }

  /** Goes on with the mended copy; the file as it was stays at hand. */
  takeMended(): void {
    const { upload, repair } = this;
    if (!upload || !repair) return;
    this.original ??= upload;
    this.upload = { ...upload, upload: repair.upload, name: mendedName(upload.name) };
    this.look = repair.after;
    this.#seen = { unit: this.unit, separate: this.separate };
    this.repair = null;
  }

  leaveMended(): void {
    this.repair = null;
  }

  async backToOriginal(): Promise<void> {
    if (!this.original) return;
    this.upload = this.original;
    this.original = null;
    await this.#look();
  }

  async cancel(): Promise<void> {
    try {
      await this.watch?.cancel();
    } catch (error) {
      this.#refused(error);
    }
  }

  async again(): Promise<void> {
    await this.#look();
  }

  forget(): void {
    this.#begin();
    this.upload = this.look = this.repair = this.original = this.unit = null;
    this.lie = { bow: "+x", up: "+z" };
    this.solidWalled = this.separate = false;
    this.trouble = [];
  }

  async #look(): Promise<void> {
    const upload = this.upload;
    if (!upload) return;
    const first = this.look === null;
    const how = { unit: this.unit, separate_shells: this.separate };
    const job = await this.#work(() =>
      post("/api/uploads/{upload}/look", { path: { upload: upload.upload }, body: how }),
    );
    if (job === null) return;
    await this.#answer(async () => {
      const look = await get("/api/jobs/{job}/look", { path: { job } });
      this.look = look;
      this.#seen = { unit: how.unit, separate: how.separate_shells };
      if (!first || upload.kind !== "mesh") return;
      this.lie = likelyLie(look.longest);
      this.solidWalled = false;
      const likely = look.units.filter((one) => one.likely);
      // The one unit that makes her a likely size is taken, and the page says so.
      if (likely.length === 1 && likely[0]) await this.choose(likely[0].unit as Unit);
    });
  }

  /** Follows a piece of work to its end; its name when it was done and is still wanted. */
  async #work(start: () => Promise<JobOut>): Promise<string | null> {
    const turn = this.#begin();
    this.trouble = [];
    try {
      const watch = new JobWatch(await start());
      if (turn !== this.#turn) {
        await watch.cancel();
        return null;
      }
      this.watch = watch;
      const end = await watch.end;
      if (turn !== this.#turn) return null;
      if (end.state === "failed") this.trouble = end.advice;
      if (end.state === "cancelled") this.trouble = [CANCELLED];
      return end.state === "done" ? end.job : null;
    } catch (error) {
      if (turn === this.#turn) this.#refused(error);
      return null;
    } finally {
      if (turn === this.#turn) this.watch = null;
    }
  }

  async #answer(take: () => Promise<unknown>): Promise<void> {
    try {
      await take();
    } catch (error) {
      this.#refused(error);
    }
  }

  #begin(): number {
    if (this.watch) void this.cancel();
    this.watch = null;
    this.#turn += 1;
    return this.#turn;
  }

  #refused(error: unknown): void {
    if (!(error instanceof Refusal)) throw error;
    this.trouble = error.advice;
  }
}

const CANCELLED: AdviceOut = {
  what: "You stopped this.",
  todo: "Nothing was changed. Look again, or choose another file.",
  where: "",
  key: "",
  given: "",
  allowed: "",
  severity: "warning",
};

function mendedName(name: string): string {
  const dot = name.lastIndexOf(".");
  return `${dot > 0 ? name.slice(0, dot) : name}, mended`;
}
