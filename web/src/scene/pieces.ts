/** Things of the scene as three.js objects: a surface, hairlines along its sharp edges, and its theme. */

import * as THREE from "three";
import { mergeVertices, toCreasedNormals } from "three/examples/jsm/utils/BufferGeometryUtils.js";
import { LOOKS, type Colours, type Look, type PieceKind } from "./looks";
import { material, paint, plain } from "./materials";
import type { Mesh } from "./meshes";
import type { Vec3 } from "./vectors";

/** Angle [rad] from which two faces meet in an edge rather than a bend. */
const CREASE = Math.PI / 6;
/** Beyond this, splitting a surface at its creases takes longer than a builder waits. */
const CREASED_TRIANGLES = 20_000;
/** From here on it pays to work out a corner once for all the faces that meet there. */
const SHARED_TRIANGLES = 2_000;

function geometryOf(positions: ArrayLike<number>, indices: ArrayLike<number>): THREE.BufferGeometry {
  const shared = new THREE.BufferGeometry();
  const array = positions instanceof Float32Array ? positions : Float32Array.from(positions);
  shared.setAttribute("position", new THREE.BufferAttribute(array, 3));
  shared.setIndex(
    new THREE.BufferAttribute(indices instanceof Uint32Array ? indices : Uint32Array.from(indices), 1),
  );
  if (indices.length / 3 > CREASED_TRIANGLES) {
    shared.computeVertexNormals();
    return shared;
  }
  const creased = toCreasedNormals(shared, CREASE);
  shared.dispose();
  if (indices.length / 3 < SHARED_TRIANGLES) return creased;
  const joined = mergeVertices(creased, 0);
  creased.dispose();
  return joined;
}

/** One thing on screen. */
export class Piece {
  readonly group = new THREE.Group();
  readonly surface: THREE.Mesh<THREE.BufferGeometry, THREE.ShaderMaterial>;
  readonly look: Look;
  #edges: THREE.LineSegments<THREE.EdgesGeometry, THREE.LineBasicMaterial> | null = null;
  #mark: THREE.LineSegments<THREE.EdgesGeometry, THREE.LineBasicMaterial> | null = null;
  #colours: Colours | null = null;

  constructor(
    readonly key: string,
    kind: PieceKind,
    mesh: Mesh,
    pitch: number,
  ) {
    const look = LOOKS[kind];
    if (!look) throw new Error(`Nothing is drawn of a ${kind}.`);
    this.look = look;
    this.surface = new THREE.Mesh(geometryOf(mesh.positions, mesh.indices), material(look, pitch));
    this.surface.renderOrder = look.order;
    this.group.add(this.surface);
    if (look.edges) {
      this.#edges = new THREE.LineSegments(
        new THREE.EdgesGeometry(this.surface.geometry, 35),
        new THREE.LineBasicMaterial({ transparent: true, opacity: 0.55, depthWrite: false }),
      );
      this.#edges.renderOrder = look.order + 1;
      this.group.add(this.#edges);
    }
  }

  paint(colours: Colours): void {
    this.#colours = colours;
    paint(this.surface.material, this.look, colours);
    if (this.#edges && this.look.edges) this.#edges.material.color = plain(colours.of(this.look.edges));
    if (this.#mark) this.#mark.material.color = plain(colours.of("chestnut"));
  }

  shift(by: Vec3): void {
    this.group.position.set(...by);
  }

  /** Draws the part's outline through everything, or takes it away. */
  mark(on: boolean): void {
    if (on === (this.#mark !== null)) return;
    if (this.#mark) {
      this.group.remove(this.#mark);
      this.#mark.geometry.dispose();
      this.#mark.material.dispose();
      this.#mark = null;
      return;
    }
    this.#mark = new THREE.LineSegments(
      new THREE.EdgesGeometry(this.surface.geometry, 25),
      new THREE.LineBasicMaterial({ depthTest: false, depthWrite: false, transparent: true }),
    );
    this.#mark.renderOrder = 80;
    this.group.add(this.#mark);
    if (this.#colours) this.paint(this.#colours);
  }

  /** Gives the piece another surface, such as water at another level. */
  reshape(positions: readonly number[], indices: readonly number[]): void {
    this.surface.geometry.dispose();
    this.surface.geometry = geometryOf(positions, indices);
    this.surface.visible = indices.length > 0;
  }

  dispose(): void {
    this.group.removeFromParent();
    this.surface.geometry.dispose();
    this.surface.material.dispose();
    this.#edges?.geometry.dispose();
    this.#edges?.material.dispose();
    this.#mark?.geometry.dispose();
    this.#mark?.material.dispose();
  }
}
