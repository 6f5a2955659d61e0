/** A pile of print files on its way to become one hull: brought in, looked at, mended if asked, joined, and measured. */

import { get, post, Refusal } from "../frame/api";
import { JobWatch } from "../frame/job.svelte";
import type { AdviceOut, JobOut, LookOut, PrintsIn, PrintsOut, RepairOut, UploadOut } from "../frame/shapes";
import { UNITS, type Unit } from "../hull/bring_in.svelte";
import { likelyLie, type Lie } from "../hull/turn";

export { UNITS, type Unit };

/** What the builder knows, as typed. */
export type Said = Pick<
  PrintsIn,
  | "gap"
  | "length"
  | "material"
  | "weighed"
  | "infill"
  | "infill_spread"
  | "line_width"
  | "water"
  | "water_spread"
>;

export const NOTHING_SAID: Required<Said> & { lines: string; from: string; to: string } = {
  gap: "",
  length: "",
  from: "",
  to: "",
  material: "",
  weighed: "",
  infill: "",
  infill_spread: "",
  lines: "",
  line_width: "",
  water: "",
  water_spread: "",
};

export class Piece {
  upload = $state.raw<UploadOut | null>(null);
  unit = $state<Unit>("mm");
  shift = $state("");
  turn = $state("");
  look = $state.raw<LookOut | null>(null);
  /** What a repair has changed; shown before the mended copy is taken. */
  repair = $state.raw<RepairOut | null>(null);
  mended = $state(false);
  watch = $state.raw<JobWatch | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);

  constructor(
    readonly key: number,
    readonly name: string,
  ) {}

  get busy(): boolean {
    return (this.upload === null && this.trouble.length === 0) || this.watch !== null;
  }

  get ready(): boolean {
    return !this.busy && this.repair === null && (this.look?.sound ?? false);
  }

  async bring(file: File): Promise<void> {
    await this.#trying(async () => {
      this.upload = await post("/api/uploads", { query: { name: file.name }, body: file });
    });
    await this.examine();
  }

  async examine(): Promise<void> {
    const upload = this.upload;
    if (!upload) return;
    const job = await this.#work(() =>
      post("/api/uploads/{upload}/look", { path: { upload: upload.upload }, body: this.#how }),
    );
    if (job === null) return;
    await this.#trying(async () => {
      this.look = await get("/api/jobs/{job}/look", { path: { job } });
    });
  }

  async mend(): Promise<void> {
    const upload = this.upload;
    if (!upload) return;
    const job = await this.#work(() =>
      post("/api/uploads/{upload}/repair", { path: { upload: upload.upload }, body: this.#how }),
    );
    if (job === null) return;
    await this.#trying(async () => {
      this.repair = await get("/api/jobs/{job}/repair", { path: { job } });
    });
  }

  takeMended(): void {
    const { upload, repair } = this;
    if (!upload || !repair) return;
    this.upload = { ...upload, upload: repair.upload };
    this.look = repair.after;
    this.mended = true;
    this.repair = null;
  }

  get #how() {
    return { unit: this.unit, separate_shells: true, part: true };
  }

  async #work(start: () => Promise<JobOut>): Promise<string | null> {
    this.trouble = [];
    let done: string | null = null;
    await this.#trying(async () => {
      this.watch = new JobWatch(await start());
      const end = await this.watch.end;
      if (end.state === "failed") this.trouble = end.advice;
      if (end.state === "done") done = end.job;
    });
    this.watch = null;
    return done;
  }

  async #trying(act: () => Promise<void>): Promise<void> {
    try {
      await act();
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.trouble = error.advice;
    }
  }
}

export class Pile {
  pieces = $state.raw<readonly Piece[]>([]);
  said = $state({ ...NOTHING_SAID });
  stack = $state(false);
  walled = $state<boolean | null>(null);
  lie = $state.raw<Lie>({ bow: "+x", up: "+z" });
  watch = $state.raw<JobWatch | null>(null);
  found = $state.raw<PrintsOut | null>(null);
  trouble = $state.raw<readonly AdviceOut[]>([]);
  /** What was asked when `found` was found, to see whether it still holds. */
  #asked = $state("");
  #next = 1;

  // Plain getters rather than derived values: a pile outlives the page on which it was begun.

  get busy(): boolean {
    return this.watch !== null;
  }

  /** What is still in the way of joining, in a few words; empty when nothing is. */
  get missing(): string {
    if (this.pieces.length === 0) return "Choose the print files first.";
    if (this.pieces.some((piece) => piece.busy)) return "The pieces are being looked at.";
    const open = this.pieces.filter((piece) => !piece.ready);
    if (open.length > 0) return `Put right or take out: ${open.map((piece) => piece.name).join(", ")}.`;
    return "";
  }

  /** The figures shown belong to other pieces or entries than those above. */
  get stale(): boolean {
    return this.found !== null && this.#asked !== JSON.stringify(this.#ask);
  }

  /** Brings in files one after the other, so that no more is asked of the laptop at once than it does at once. */
  async add(files: readonly File[]): Promise<void> {
    const fresh = files.map((file) => [new Piece(this.#next++, file.name), file] as const);
    this.pieces = [...this.pieces, ...fresh.map(([piece]) => piece)];
    for (const [piece, file] of fresh) await piece.bring(file);
  }

  drop(piece: Piece): void {
    this.pieces = this.pieces.filter((one) => one !== piece);
    if (this.pieces.length === 0) this.found = null;
  }

  /** Nearer to the stern or to the bow, for stacking. */
  move(piece: Piece, by: -1 | 1): void {
    const at = this.pieces.indexOf(piece);
    const to = at + by;
    if (at < 0 || to < 0 || to >= this.pieces.length) return;
    const order = [...this.pieces];
    order.splice(at, 1);
    order.splice(to, 0, piece);
    this.pieces = order;
  }

  async join(boat: string): Promise<void> {
    if (this.missing !== "" || this.busy) return;
    const body = this.#ask;
    const first = this.found === null;
    this.trouble = [];
    try {
      this.watch = new JobWatch(await post("/api/boats/{boat}/prints", { path: { boat }, body }));
      const end = await this.watch.end;
      if (end.state === "failed") this.trouble = end.advice;
      if (end.state !== "done") return;
      const found = await get("/api/jobs/{job}/prints", { path: { job: end.job } });
      if (first) this.lie = likelyLie(found.longest);
      this.#asked = JSON.stringify(body);
      this.found = found;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.trouble = error.advice;
    } finally {
      this.watch = null;
    }
  }

  async cancel(): Promise<void> {
    try {
      await this.watch?.cancel();
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.trouble = error.advice;
    }
  }

  forget(): void {
    this.pieces = [];
    this.said = { ...NOTHING_SAID };
    this.found = null;
    this.trouble = [];
    this.walled = null;
    this.stack = false;
  }

  get #ask(): PrintsIn {
    const { from, to, lines, ...said } = this.said;
    return {
      ...said,
      pieces: this.pieces.map(({ upload, unit, shift, turn }) => ({
        upload: upload?.upload ?? "",
        unit,
        shift,
        turn,
      })),
      stack: this.stack,
      walled: this.walled,
      between: from.trim() || to.trim() ? [from, to] : null,
      lines: lines.trim() === "" ? null : Number(lines),
    };
  }
}
