/** The 3-D picture: what is in it, where the eye stands, and drawing only when something changed. */

import * as THREE from "three";
import type { Body, TankWaterOut } from "../frame/shapes";
import {
  between,
  eye,
  FIELD_OF_VIEW,
  fitDistance,
  frameOf,
  turned,
  VIEWS,
  zoomed,
  type Orbit,
  type ViewName,
} from "./camera";
import type { Ray } from "./drag";
import { LOOKS, type Colours, type PieceKind } from "./looks";
import { Marker } from "./markers";
import { plain, sheetMaterial } from "./materials";
import { spread, type Mesh } from "./meshes";
import { Openings } from "./openings";
import { Piece } from "./pieces";
import { driverName, drawnByProcessor } from "./software";
import {
  add,
  corners,
  length,
  ORIGIN,
  scaled,
  subtract,
  toWorld,
  UPRIGHT,
  type Pose,
  type Vec3,
} from "./vectors";

/** Something to draw beside the bodies of the scene, such as lead that a trim proposes. */
export interface Extra {
  key: string;
  name: string;
  kind: PieceKind;
  mesh: { positions: readonly number[]; indices: readonly number[] };
}

export interface Centres {
  cg: Vec3 | null;
  cb: Vec3 | null;
  /** She hangs in the water: the signs are diamonds. */
  hangs: boolean;
}

const TURN_MS = 320;
/** After so long without a change the picture is drawn finely, where that takes a while. */
const REST_MS = 1500;
const FINEST = 2;
const MARKER_PIXELS = 50;

export class View {
  /** Called after each drawing, with the number of the answer that it was the first to show. */
  onframe: ((seq: number | null) => void) | null = null;
  readonly #renderer: THREE.WebGLRenderer;
  readonly #scene = new THREE.Scene();
  readonly #camera = new THREE.PerspectiveCamera((FIELD_OF_VIEW * 180) / Math.PI, 1, 0.01, 100);
  readonly #boat = new THREE.Group();
  readonly #pieces = new Map<string, Piece>();
  readonly #extras = new Map<string, Piece>();
  readonly #waters = new Map<string, Piece>();
  readonly #openings = new Openings();
  readonly #signs = { cg: new Marker("CG"), cb: new Marker("CB") };
  readonly #sheet = new THREE.Mesh(new THREE.CircleGeometry(1, 96), sheetMaterial());
  readonly #ring: THREE.LineLoop<THREE.BufferGeometry, THREE.LineBasicMaterial>;
  readonly #watch: ResizeObserver;
  readonly #caster = new THREE.Raycaster();
  readonly #still = window.matchMedia("(prefers-reduced-motion: reduce)");
  readonly #slow = drawnByProcessor(driverName());
  #rest: ReturnType<typeof setTimeout> | undefined;
  #orbit: Orbit = { ...VIEWS["three-quarter"], zoom: 1, aside: ORIGIN };
  #turning: { from: Orbit; to: Orbit; start: number } | null = null;
  #pose: Pose = UPRIGHT;
  #low: Vec3 = ORIGIN;
  #high: Vec3 = [1, 0.1, 0.1];
  /** What the picture must show: points all over the bodies, house frame. */
  #points: Vec3[] = [];
  #colours: Colours | null = null;
  #request = 0;
  #stamp: number | null = null;
  /** Where she lay when the picture was fitted to her; the eye then stays, so that she is seen to sink and rise. */
  #fitted: { middle: Vec3; points: Vec3[] } | null = null;
  #distance = { azimuth: NaN, elevation: NaN, aspect: NaN, value: 1 };

  constructor(readonly canvas: HTMLCanvasElement) {
    // Without a graphics chip, edges are smoothed only once the picture rests. On a fine screen nobody sees their steps.
    const antialias = !this.#slow && window.devicePixelRatio < 2;
    this.#renderer = new THREE.WebGLRenderer({ canvas, antialias, alpha: true });
    // Colours are mixed as the page mixes them, so none is turned from one space to another.
    this.#renderer.outputColorSpace = THREE.LinearSRGBColorSpace;
    this.#boat.matrixAutoUpdate = false;
    this.#sheet.renderOrder = 10;
    const rim = new THREE.EllipseCurve(0, 0, 0.62, 0.62)
      .getPoints(128)
      .map((p) => new THREE.Vector3(p.x, p.y, 0));
    this.#ring = new THREE.LineLoop(
      new THREE.BufferGeometry().setFromPoints(rim),
      new THREE.LineBasicMaterial({ transparent: true, opacity: 0.35, depthWrite: false }),
    );
    this.#ring.renderOrder = 11;
    this.#scene.add(this.#boat, this.#sheet, this.#ring);
    this.#boat.add(this.#openings.group, this.#signs.cg.sprite, this.#signs.cb.sprite);
    this.#watch = new ResizeObserver(() => this.#resize());
    this.#watch.observe(canvas.parentElement ?? canvas);
    this.#resize();
  }

  /** The theme's colours, as they are now. */
  paint(colours: Colours): void {
    this.#colours = colours;
    for (const piece of this.#every()) piece.paint(colours);
    this.#signs.cg.paint(colours);
    this.#signs.cb.paint(colours);
    const sheet = this.#sheet.material.uniforms;
    if (sheet.colour && sheet.opacity) {
      sheet.colour.value = plain(colours.shallows);
      sheet.opacity.value = colours.dark ? 0.55 : 0.8;
    }
    this.#ring.material.color = plain(colours.of("pond"));
    this.#openings.paint(colours);
    this.draw();
  }

  /** The boat's own things; `low` and `high` hold all that the picture must show. */
  setBodies(bodies: readonly Body[], meshes: ReadonlyMap<string, Mesh>, low: Vec3, high: Vec3): void {
    const first = this.#pieces.size === 0;
    for (const piece of this.#pieces.values()) piece.dispose();
    this.#pieces.clear();
    const pitch = (high[0] - low[0]) / 90;
    for (const body of bodies) {
      const mesh = meshes.get(body.key);
      if (mesh && mesh.indices.length > 0 && LOOKS[body.kind]) {
        this.#add(this.#pieces, new Piece(body.key, body.kind, mesh, pitch));
      }
    }
    [this.#low, this.#high] = [low, high];
    this.#points = [...meshes.values()].flatMap(spread);
    if (this.#points.length === 0) this.#points = corners(low, high);
    this.#openings.set(bodies, (high[0] - low[0]) / 120);
    const reach = (high[0] - low[0]) * 0.95;
    for (const flat of [this.#sheet, this.#ring]) flat.scale.set(reach, reach * 0.62, 1);
    this.#fitted = null;
    if (first) this.#orbit = { ...this.#orbit, zoom: 1, aside: ORIGIN };
    this.draw();
  }

  setExtras(extras: readonly Extra[]): void {
    for (const piece of this.#extras.values()) piece.dispose();
    this.#extras.clear();
    const pitch = (this.#high[0] - this.#low[0]) / 90;
    for (const extra of extras) {
      if (extra.mesh.indices.length === 0) continue;
      const mesh = {
        positions: Float32Array.from(extra.mesh.positions),
        indices: Uint32Array.from(extra.mesh.indices),
      };
      this.#add(this.#extras, new Piece(extra.key, extra.kind, mesh, pitch));
    }
    this.draw();
  }

  /** Water in the tanks as it lies. */
  setWaters(waters: readonly TankWaterOut[]): void {
    const kept = new Set(waters.map((water) => water.key));
    for (const [key, piece] of this.#waters) {
      if (kept.has(key)) continue;
      piece.dispose();
      this.#waters.delete(key);
    }
    for (const { key, water } of waters) {
      let piece = this.#waters.get(key);
      if (!piece) {
        piece = new Piece(key, "water", { positions: new Float32Array(), indices: new Uint32Array() }, 1);
        this.#add(this.#waters, piece);
      }
      piece.reshape(water.positions, water.indices);
    }
    this.draw();
  }

  setPose(pose: Pose): void {
    this.#pose = pose;
    this.#boat.matrix.fromArray([...pose]);
    this.#boat.matrixWorldNeedsUpdate = true;
    const middle = toWorld(pose, this.#middle());
    // The first answer, or a boat that went far: fit the picture to her anew.
    const reach = this.#high[0] - this.#low[0];
    if (this.#fitted && length(subtract(middle, this.#fitted.middle)) > reach / 6) this.#fitted = null;
    for (const flat of [this.#sheet, this.#ring]) flat.position.set(middle[0], middle[1], 0);
    this.draw();
  }

  setShifts(shifts: Readonly<Record<string, Vec3>>): void {
    for (const [key, piece] of this.#pieces) piece.shift(shifts[key] ?? ORIGIN);
    for (const [key, piece] of this.#waters) piece.shift(shifts[key] ?? ORIGIN);
    this.draw();
  }

  select(key: string | null): void {
    for (const [each, piece] of [...this.#pieces, ...this.#extras]) piece.mark(each === key);
    this.draw();
  }

  setCentres(centres: Centres): void {
    this.#signs.cg.place(centres.cg, centres.hangs);
    this.#signs.cb.place(centres.cb, centres.hangs);
    this.draw();
  }

  /** The number of the answer that the next drawing shows, for those who measure how long it took. */
  stamp(seq: number): void {
    this.#stamp = seq;
  }

  look(name: ViewName): void {
    this.#fitted = null;
    this.#turnTo({ ...VIEWS[name], zoom: 1, aside: ORIGIN });
  }

  fit(): void {
    this.#fitted = null;
    this.#turnTo({ ...this.#orbit, zoom: 1, aside: ORIGIN });
  }

  turn(azimuth: number, elevation: number): void {
    this.#turning = null;
    this.#orbit = turned(this.#orbit, azimuth, elevation);
    this.draw();
  }

  zoom(factor: number): void {
    this.#turning = null;
    this.#orbit = zoomed(this.#orbit, factor);
    this.draw();
  }

  /** Shifts the picture by pixels. */
  pan(dx: number, dy: number): void {
    this.#turning = null;
    const frame = frameOf(this.#orbit);
    const { distance } = this.#stand();
    const perPixel =
      (2 * Math.tan(FIELD_OF_VIEW / 2) * distance) / this.#orbit.zoom / this.canvas.clientHeight;
    const aside = add(scaled(frame.right, -dx * perPixel), scaled(frame.up, dy * perPixel));
    this.#orbit = { ...this.#orbit, aside: add(this.#orbit.aside, aside) };
    this.draw();
  }

  /** The part under a point of the screen: what lies inside something translucent comes before its shell. */
  pick(clientX: number, clientY: number): string | null {
    this.#aim(clientX, clientY);
    const open = [...this.#pieces.values(), ...this.#extras.values()].filter((piece) => piece.look.picked);
    const hits = this.#caster
      .intersectObjects(
        open.map((piece) => piece.surface),
        false,
      )
      .map((hit) => open.find((piece) => piece.surface === hit.object))
      .filter((piece) => piece !== undefined);
    const solid = hits.find((piece) => piece.look.opacity === 1);
    const clear = hits.reduce<Piece | null>(
      (best, piece) => (best && best.look.order >= piece.look.order ? best : piece),
      null,
    );
    return (solid ?? clear)?.key ?? null;
  }

  ray(clientX: number, clientY: number): Ray {
    this.#aim(clientX, clientY);
    const { origin, direction } = this.#caster.ray;
    return { from: [origin.x, origin.y, origin.z], along: [direction.x, direction.y, direction.z] };
  }

  /** The direction in which the picture is seen, world. */
  get sight(): Vec3 {
    return frameOf(this.#orbit).back;
  }

  /** Where a point of the house frame stands in the picture, in CSS pixels. */
  onScreen(point: Vec3): { x: number; y: number } {
    const at = new THREE.Vector3(...toWorld(this.#pose, point)).project(this.#camera);
    return { x: ((at.x + 1) / 2) * this.canvas.clientWidth, y: ((1 - at.y) / 2) * this.canvas.clientHeight };
  }

  /** Asks for one drawing before the screen is shown next. */
  draw(): void {
    if (this.#request === 0) this.#request = requestAnimationFrame((now) => this.#render(now));
  }

  dispose(): void {
    cancelAnimationFrame(this.#request);
    clearTimeout(this.#rest);
    this.#watch.disconnect();
    for (const piece of this.#every()) piece.dispose();
    this.#openings.dispose();
    this.#signs.cg.dispose();
    this.#signs.cb.dispose();
    for (const flat of [this.#sheet, this.#ring]) {
      flat.geometry.dispose();
      flat.material.dispose();
    }
    this.#renderer.dispose();
    this.#renderer.forceContextLoss();
  }

  *#every(): Generator<Piece> {
    yield* this.#pieces.values();
    yield* this.#extras.values();
    yield* this.#waters.values();
  }

  #add(to: Map<string, Piece>, piece: Piece): void {
    to.set(piece.key, piece);
    this.#boat.add(piece.group);
    if (this.#colours) piece.paint(this.#colours);
  }

  #middle(): Vec3 {
    return scaled(add(this.#low, this.#high), 0.5);
  }

  #stand(): { middle: Vec3; distance: number } {
    if (!this.#fitted) {
      const points = this.#points.map((point) => toWorld(this.#pose, point));
      this.#fitted = { middle: toWorld(this.#pose, this.#middle()), points };
      this.#distance.azimuth = NaN;
    }
    const { middle, points } = this.#fitted;
    const { azimuth, elevation } = this.#orbit;
    const { aspect } = this.#camera;
    const known = this.#distance;
    if (known.azimuth !== azimuth || known.elevation !== elevation || known.aspect !== aspect) {
      const value = fitDistance(points, middle, frameOf(this.#orbit), aspect);
      this.#distance = { azimuth, elevation, aspect, value };
    }
    return { middle, distance: this.#distance.value };
  }

  #aim(clientX: number, clientY: number): void {
    const box = this.canvas.getBoundingClientRect();
    const x = ((clientX - box.left) / box.width) * 2 - 1;
    const y = 1 - ((clientY - box.top) / box.height) * 2;
    this.#place();
    this.#scene.updateMatrixWorld();
    this.#caster.setFromCamera(new THREE.Vector2(x, y), this.#camera);
  }

  #turnTo(to: Orbit): void {
    if (this.#still.matches) this.#orbit = to;
    else this.#turning = { from: this.#orbit, to, start: performance.now() };
    this.draw();
  }

  #place(): void {
    const { middle, distance } = this.#stand();
    const stand = eye(this.#orbit, middle, distance);
    const reach = this.#high[0] - this.#low[0];
    this.#camera.near = Math.max(reach / 1000, distance / this.#orbit.zoom - 2 * reach);
    this.#camera.far = distance / this.#orbit.zoom + 4 * reach;
    this.#camera.up.set(...stand.up);
    this.#camera.position.set(...stand.eye);
    this.#camera.lookAt(...stand.target);
    this.#camera.updateProjectionMatrix();
    this.#camera.updateMatrixWorld();
  }

  #sharpen(ratio: number): void {
    const wanted = Math.min(FINEST, ratio);
    if (this.#renderer.getPixelRatio() !== wanted) this.#renderer.setPixelRatio(wanted);
  }

  #resize(): void {
    const { clientWidth: width, clientHeight: height } = this.canvas.parentElement ?? this.canvas;
    if (width === 0 || height === 0) return;
    this.#renderer.setSize(width, height, false);
    this.#camera.aspect = width / height;
    for (const sign of [this.#signs.cg, this.#signs.cb]) sign.size(MARKER_PIXELS, height, FIELD_OF_VIEW);
    this.#render(performance.now());
  }

  #render(now: number): void {
    cancelAnimationFrame(this.#request);
    this.#request = 0;
    if (this.#turning) {
      const share = Math.min(1, Math.max(0, (now - this.#turning.start) / TURN_MS));
      this.#orbit = between(this.#turning.from, this.#turning.to, share * share * (3 - 2 * share));
      if (share < 1) this.draw();
      else this.#turning = null;
    }
    this.#place();
    this.#sharpen(this.#slow ? 1 : window.devicePixelRatio);
    this.#renderer.render(this.#scene, this.#camera);
    if (this.#slow) {
      clearTimeout(this.#rest);
      this.#rest = setTimeout(() => {
        this.#sharpen(FINEST);
        this.#renderer.render(this.#scene, this.#camera);
      }, REST_MS);
    }
    const seq = this.#stamp;
    this.#stamp = null;
    if (seq !== null) performance.mark("dabchick-drawn", { detail: seq });
    this.onframe?.(seq);
  }
}
