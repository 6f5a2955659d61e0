/** Openings of the hull as rings that face the eye, as wide as they are. */

import * as THREE from "three";
import type { Body } from "../frame/shapes";
import type { Colours } from "./looks";

const SIZE = 64;

export class Openings {
  readonly group = new THREE.Group();
  readonly #canvas = document.createElement("canvas");
  readonly #material: THREE.SpriteMaterial;
  readonly #texture: THREE.CanvasTexture;

  constructor() {
    this.#canvas.width = this.#canvas.height = SIZE;
    this.#texture = new THREE.CanvasTexture(this.#canvas);
    this.#material = new THREE.SpriteMaterial({ map: this.#texture, depthTest: true, depthWrite: false });
  }

  /** `least` keeps a narrow one in sight [m]. */
  set(bodies: readonly Body[], least: number): void {
    this.group.clear();
    for (const body of bodies) {
      if (body.kind !== "opening") continue;
      const wide = Math.max(...body.high_m.map((high, axis) => high - (body.low_m[axis] ?? high)));
      const sprite = new THREE.Sprite(this.#material);
      sprite.position.set(...body.centre_m);
      sprite.scale.setScalar(Math.max(wide, least));
      sprite.renderOrder = 45;
      this.group.add(sprite);
    }
  }

  paint(colours: Colours): void {
    const context = this.#canvas.getContext("2d");
    if (!context) throw new Error("This browser draws no canvas.");
    context.clearRect(0, 0, SIZE, SIZE);
    context.lineWidth = SIZE * 0.11;
    context.strokeStyle = colours.of("ink");
    context.fillStyle = colours.paper;
    context.beginPath();
    context.arc(SIZE / 2, SIZE / 2, SIZE * 0.4, 0, 2 * Math.PI);
    context.fill();
    context.stroke();
    this.#texture.needsUpdate = true;
  }

  dispose(): void {
    this.#texture.dispose();
    this.#material.dispose();
  }
}
