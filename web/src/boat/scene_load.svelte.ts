/** Fetches the scene of a revision with its meshes; shows the old one until the new one is whole. */

import { bytes, get, Refusal } from "../frame/api";
import type { SceneOut } from "../frame/shapes";
import { readMeshes, type Mesh } from "../scene/meshes";

export interface Drawn {
  scene: SceneOut;
  meshes: ReadonlyMap<string, Mesh>;
}

export class SceneLoad {
  drawn = $state.raw<Drawn | null>(null);
  refusal = $state.raw<Refusal | null>(null);
  #wanted = 0;
  #stop: AbortController | null = null;

  constructor(readonly boat: string) {}

  /** True once the scene of this revision, or a newer one, is there. */
  async load(revision: number): Promise<boolean> {
    if (this.drawn && this.drawn.scene.revision >= revision) return true;
    if (this.#wanted === revision && this.#stop) return false;
    this.#stop?.abort();
    const stop = new AbortController();
    [this.#wanted, this.#stop] = [revision, stop];
    try {
      const scene = await get("/api/boats/{boat}/scene", { path: { boat: this.boat }, signal: stop.signal });
      const data = await bytes("/api/boats/{boat}/meshes", {
        path: { boat: this.boat },
        query: { revision: scene.revision },
        signal: stop.signal,
      });
      if (stop.signal.aborted) return false;
      this.drawn = { scene, meshes: readMeshes(scene.bodies, data) };
      this.refusal = null;
      return true;
    } catch (error) {
      // A newer revision took this one's place.
      if (stop.signal.aborted) return false;
      if (!(error instanceof Refusal)) throw error;
      this.refusal = error;
      return false;
    } finally {
      if (this.#stop === stop) this.#stop = null;
    }
  }

  close(): void {
    this.#stop?.abort();
  }
}
