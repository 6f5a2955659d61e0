/** CG and CB as signs of constant size; told apart by shape: filled quarters or a point, circle afloat, diamond hanging. */

import * as THREE from "three";
import type { Colours } from "./looks";

const SIZE = 96;

export type Centre = "CG" | "CB";

/** Outline of a sign about the middle, in canvas pixels. */
function outline(context: CanvasRenderingContext2D, hangs: boolean, radius: number): void {
  context.beginPath();
  if (hangs) {
    const r = radius * 1.25;
    context.moveTo(r, 0);
    context.lineTo(0, r);
    context.lineTo(-r, 0);
    context.lineTo(0, -r);
    context.closePath();
  } else {
    context.arc(0, 0, radius, 0, 2 * Math.PI);
  }
}

export function drawSign(
  context: CanvasRenderingContext2D,
  centre: Centre,
  hangs: boolean,
  colours: Colours,
): void {
  const colour = colours.of(centre === "CG" ? "ink" : "pond");
  const radius = SIZE * 0.2;
  context.clearRect(0, 0, SIZE, SIZE);
  context.save();
  context.translate(SIZE / 2, SIZE / 2);
  context.lineWidth = SIZE * 0.09;
  context.strokeStyle = colours.paper;
  outline(context, hangs, radius);
  context.stroke();
  context.fillStyle = colours.paper;
  context.fill();
  context.lineWidth = SIZE * 0.035;
  context.strokeStyle = colour;
  context.fillStyle = colour;
  context.stroke();
  if (centre === "CG") {
    context.save();
    outline(context, hangs, radius);
    context.clip();
    context.fillRect(0, -SIZE, SIZE, SIZE);
    context.fillRect(-SIZE, 0, SIZE, SIZE);
    context.restore();
  } else {
    context.beginPath();
    context.arc(0, 0, radius * 0.32, 0, 2 * Math.PI);
    context.fill();
  }
  context.font = `600 ${SIZE * 0.2}px ${getComputedStyle(document.body).fontFamily}`;
  context.textAlign = "left";
  context.lineWidth = SIZE * 0.06;
  context.lineJoin = "round";
  context.strokeStyle = colours.paper;
  const y = centre === "CG" ? radius * 1.9 : -radius * 1.2;
  context.strokeText(centre, radius * 0.6, y);
  context.fillText(centre, radius * 0.6, y);
  context.restore();
}

/** One centre's sign, seen through everything. */
export class Marker {
  readonly sprite: THREE.Sprite;
  readonly #texture: THREE.CanvasTexture;
  readonly #canvas = document.createElement("canvas");
  #hangs = false;
  #colours: Colours | null = null;

  constructor(readonly centre: Centre) {
    this.#canvas.width = this.#canvas.height = SIZE;
    this.#texture = new THREE.CanvasTexture(this.#canvas);
    this.sprite = new THREE.Sprite(
      new THREE.SpriteMaterial({
        map: this.#texture,
        depthTest: false,
        depthWrite: false,
        sizeAttenuation: false,
      }),
    );
    this.sprite.renderOrder = centre === "CG" ? 91 : 90;
    this.sprite.visible = false;
  }

  paint(colours: Colours): void {
    this.#colours = colours;
    this.#draw();
  }

  place(at: readonly [number, number, number] | null, hangs: boolean): void {
    this.sprite.visible = at !== null;
    if (at) this.sprite.position.set(...at);
    if (hangs !== this.#hangs) {
      this.#hangs = hangs;
      this.#draw();
    }
  }

  /** Keeps the sign `pixels` high in a picture `height` pixels high. */
  size(pixels: number, height: number, fieldOfView: number): void {
    const share = (2 * Math.tan(fieldOfView / 2) * pixels) / height;
    this.sprite.scale.set(share, share, 1);
  }

  dispose(): void {
    this.#texture.dispose();
    this.sprite.material.dispose();
  }

  #draw(): void {
    const context = this.#canvas.getContext("2d");
    if (!context) throw new Error("This browser draws no canvas.");
    if (!this.#colours) return;
    drawSign(context, this.centre, this.#hangs, this.#colours);
    this.#texture.needsUpdate = true;
  }
}
