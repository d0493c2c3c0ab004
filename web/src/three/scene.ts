/** The scene in the round: new ground as a surface, old ground as a net, water as a plane. Draws only when told. */

import {
  AmbientLight,
  BufferAttribute,
  BufferGeometry,
  Color,
  DirectionalLight,
  DoubleSide,
  Group,
  IcosahedronGeometry,
  InstancedMesh,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  Object3D,
  Path,
  PerspectiveCamera,
  Scene,
  Shape,
  ShapeGeometry,
  Vector2,
  WebGLRenderer,
} from "three";
import type { Ink } from "../charts/ink";
import type { SitePoint } from "../geometry/types";
import { type Eye, FROM_SOUTH, offsetOf } from "./orbit";
import type { Corner3, Face } from "./built";
import type { Solid } from "./stones";
import { type Surface, type Terrain, heightNear, netOf, terrainOf } from "./terrain";

export type Layer = "old" | "new" | "water" | "ways" | "liner" | "stones";

export interface WaterPlane {
  readonly rings: readonly (readonly SitePoint[])[];
  readonly level: number;
}

/** Soil moved by so much or more has the full colour [m]. */
const FULL_COLOUR = 0.8;
/** Differences below this are noise of whole centimetres [m]. */
const UNMOVED = 0.015;
/** Old ground is shown where it lies so far from the new one [m]. */
const SEEN_APART = 0.05;
const NET_LINES = 80;
/** Code of the server for a node on a way. */
const ON_A_WAY = 4;
const NEAR_SHARE = 0.06;
/** Of the sides of a stone, so that the solid fills them. */
const FILLS = 1.12;
/** A line on the ground is drawn so much over it, so that it is not lost in it [m]. */
const LINE_OVER = 0.05;

export class NoWebGl extends Error {}

export class GroundScene {
  readonly canvas: HTMLCanvasElement;
  eye: Eye = FROM_SOUTH;

  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(38, 1, 0.1, 5000);
  private readonly stretched = new Group();
  private readonly ground = new Mesh(new BufferGeometry(), new MeshLambertMaterial({ vertexColors: true, side: DoubleSide }));
  private readonly net = new LineSegments(new BufferGeometry(), new LineBasicMaterial({ transparent: true, opacity: 0.7 }));
  private readonly water = new Group();
  private readonly waterInk = new MeshBasicMaterial({ transparent: true, opacity: 0.62, side: DoubleSide, depthWrite: false });
  private readonly shoreInk = new LineBasicMaterial();
  private readonly built = new Mesh(new BufferGeometry(), new MeshLambertMaterial({ side: DoubleSide }));
  private readonly liner = new LineSegments(new BufferGeometry(), new LineBasicMaterial());
  private readonly stoneShape = new IcosahedronGeometry(0.5);
  private readonly stoneInk = new MeshLambertMaterial({ flatShading: true });
  private stones = new InstancedMesh(this.stoneShape, this.stoneInk, 0);
  private origin: readonly [number, number, number] = [0, 0, 0];
  private size = 1;
  private waiting = 0;

  constructor(software: boolean) {
    try {
      this.renderer = new WebGLRenderer({ antialias: !software, powerPreference: "low-power" });
    } catch (fault) {
      throw new NoWebGl((fault as Error).message);
    }
    this.renderer.setPixelRatio(software ? 1 : Math.min(devicePixelRatio, 2));
    this.canvas = this.renderer.domElement;
    this.camera.up.set(0, 0, 1);
    // The meshes are filled in place later: bounds taken from the empty ones would hide them.
    this.ground.frustumCulled = false;
    this.net.frustumCulled = false;
    this.built.frustumCulled = false;
    this.liner.frustumCulled = false;
    const sun = new DirectionalLight(0xffffff, 2.3);
    sun.position.set(-0.7, 0.55, 0.6);
    this.stretched.add(this.ground, this.net, this.water, this.built, this.liner);
    this.scene.add(this.stretched, sun, new AmbientLight(0xffffff, 1.15));
  }

  /** What is looked at, and how large it is: the water, or the whole site where there is none; counted from its middle. */
  settle({ grid }: Surface, planes: readonly WaterPlane[], middleHeight: number): void {
    const shores = planes.flatMap(({ rings }) => rings[0] ?? []);
    const corners: readonly SitePoint[] = [
      [grid.origin_east, grid.origin_north],
      [grid.origin_east + (grid.columns - 1) * grid.spacing, grid.origin_north + (grid.rows - 1) * grid.spacing],
    ];
    const points = shores.length > 0 ? shores : corners;
    const [east, north] = [reach(points.map((point) => point[0])), reach(points.map((point) => point[1]))];
    this.origin = [(east[0] + east[1]) / 2, (north[0] + north[1]) / 2, middleHeight];
    this.size = Math.max(east[1] - east[0], north[1] - north[0], 1) * (shores.length > 0 ? 1.25 : 1);
  }

  /** New ground, coloured by what was dug and raised. */
  showGround(surface: Surface, old: Surface | null, part: Surface | null, most: number, ink: Ink): void {
    const terrain = terrainOf(surface, most, this.origin);
    fill(this.ground.geometry, terrain.positions, terrain.triangles);
    this.ground.geometry.setAttribute("color", new BufferAttribute(this.coloursOf(terrain, old, part, ink), 3));
    this.ground.geometry.computeVertexNormals();
  }

  /** Old ground as a net of lines, where the new ground lies elsewhere. */
  showOld(surface: Surface, fresh: Surface | null, ink: Ink): void {
    const terrain = terrainOf(surface, 160, this.origin);
    const every = Math.max(1, Math.round(Math.max(terrain.columns, terrain.rows) / NET_LINES));
    const { positions } = terrain;
    const moved = (node: number): boolean => {
      if (!fresh) return true;
      const [east, north, height] = [positions[3 * node] as number, positions[3 * node + 1] as number, positions[3 * node + 2] as number];
      return Math.abs(heightNear(fresh, east + this.origin[0], north + this.origin[1]) - height - this.origin[2]) > SEEN_APART;
    };
    fill(this.net.geometry, positions, netOf(terrain, every, moved));
    this.net.material.color = new Color(ink.contour);
  }

  /** Water of each body, at its level, inside its shore and round its islands. */
  showWater(planes: readonly WaterPlane[], ink: Ink): void {
    for (const child of [...this.water.children]) {
      this.water.remove(child);
      (child as Mesh).geometry.dispose();
    }
    this.waterInk.color = new Color(ink.water);
    this.shoreInk.color = new Color(ink.shore);
    for (const { rings, level } of planes) {
      const [outer, ...islands] = rings.map((ring) => ring.map(([east, north]) => new Vector2(east - this.origin[0], north - this.origin[1])));
      if (!outer || outer.length < 3) continue;
      const shape = new Shape(outer);
      shape.holes = islands.map((island) => new Path(island));
      const plane = new Mesh(new ShapeGeometry(shape), this.waterInk);
      plane.position.z = level - this.origin[2];
      plane.renderOrder = 1;
      this.water.add(plane, ...rings.map((ring) => this.shoreLine(ring, level)));
    }
  }

  /** Walls, bridges and decks as faces. */
  showBuilt(faces: readonly Face[], ink: Ink): void {
    const positions = faces.flatMap((face) => face.flatMap(([east, north, height]) => [east - this.origin[0], north - this.origin[1], height - this.origin[2]]));
    const order = faces.flatMap((_, at) => [0, 1, 2, 0, 2, 3].map((corner) => 4 * at + corner));
    fill(this.built.geometry, Float32Array.from(positions), Uint32Array.from(order));
    this.built.geometry.computeVertexNormals();
    this.built.material.color = new Color(ink.muted);
  }

  /** Stones, each as one rough solid stretched to its sides. */
  showStones(solids: readonly Solid[], ink: Ink): void {
    const { visible } = this.stones;
    this.stretched.remove(this.stones);
    this.stones.dispose();
    this.stones = new InstancedMesh(this.stoneShape, this.stoneInk, solids.length);
    this.stones.frustumCulled = false;
    this.stones.visible = visible;
    const place = new Object3D();
    solids.forEach(({ middle: [east, north, height], turn, sides: [along, across, upright] }, at) => {
      place.position.set(east - this.origin[0], north - this.origin[1], height - this.origin[2]);
      // Along points north before it is turned; clockwise is against the turn of the library.
      place.rotation.set(0, 0, -turn);
      // The corners of the solid lie on a ball within its sides: a little larger it fills them.
      place.scale.set(across * FILLS, along * FILLS, upright * FILLS);
      place.updateMatrix();
      this.stones.setMatrixAt(at, place.matrix);
    });
    this.stoneInk.color = new Color(ink["paper-2"]).lerp(new Color(ink.muted), 0.45);
    this.stretched.add(this.stones);
  }

  /** Where each liner ends, as a line in the air or in the ground. */
  showLiner(lines: readonly (readonly Corner3[])[], ink: Ink): void {
    const pieces = lines.map((line) => line.slice(1).flatMap((to, at): Corner3[] => [line[at] as Corner3, to]));
    const corners = pieces.flat();
    const positions = corners.flatMap(([east, north, height]) => [east - this.origin[0], north - this.origin[1], height - this.origin[2] + LINE_OVER]);
    fill(this.liner.geometry, Float32Array.from(positions), Uint32Array.from(corners, (_, at) => at));
    this.liner.material.color = new Color(ink.ink);
  }

  show(layer: Layer, on: boolean): void {
    const parts = { old: this.net, new: this.ground, water: this.water, ways: this.built, liner: this.liner, stones: this.stones };
    parts[layer].visible = on;
  }

  stretch(factor: number): void {
    this.stretched.scale.z = factor;
  }

  paper(colour: string): void {
    this.scene.background = new Color(colour);
  }

  resize(width: number, height: number): void {
    this.renderer.setSize(width, height);
    this.camera.aspect = width / Math.max(height, 1);
    this.camera.updateProjectionMatrix();
  }

  /** Draw at the next screen frame. */
  redraw(): void {
    if (this.waiting) return;
    this.waiting = window.requestAnimationFrame(() => {
      this.waiting = 0;
      const [east, north, up] = offsetOf(this.eye, this.size);
      this.camera.position.set(east, north, up);
      // What is near looks larger: looking a little before the middle fills the picture evenly.
      this.camera.lookAt(NEAR_SHARE * east, NEAR_SHARE * north, 0);
      this.renderer.render(this.scene, this.camera);
    });
  }

  dispose(): void {
    window.cancelAnimationFrame(this.waiting);
    this.showWater([], { water: "#000", shore: "#000" } as Ink);
    for (const part of [this.ground, this.net, this.built, this.liner]) {
      part.geometry.dispose();
      part.material.dispose();
    }
    this.stones.dispose();
    this.stoneShape.dispose();
    this.stoneInk.dispose();
    this.waterInk.dispose();
    this.shoreInk.dispose();
    this.renderer.dispose();
    this.canvas.remove();
  }

  private shoreLine(ring: readonly SitePoint[], level: number): LineSegments {
    const corners = ring.flatMap((from, at) => [from, ring[(at + 1) % ring.length] as SitePoint]);
    const positions = corners.flatMap(([east, north]) => [east - this.origin[0], north - this.origin[1], level - this.origin[2] + 0.01]);
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(Float32Array.from(positions), 3));
    return new LineSegments(geometry, this.shoreInk);
  }

  private coloursOf({ positions }: Terrain, old: Surface | null, part: Surface | null, ink: Ink): Float32Array {
    const earth = new Color(ink["paper-2"]).lerp(new Color(ink.contour), 0.25);
    const [dug, raised] = [new Color(ink["dig-2"]), new Color(ink["raise-2"])];
    const colours = new Float32Array(positions.length);
    const way = new Color(ink["paper-2"]).lerp(new Color(ink.ink), 0.6);
    const here = new Color();
    for (let at = 0; at < positions.length; at += 3) {
      const [east, north, height] = [positions[at] as number, positions[at + 1] as number, positions[at + 2] as number];
      const before = old ? heightNear(old, east + this.origin[0], north + this.origin[1]) : height + this.origin[2];
      const moved = height + this.origin[2] - before;
      here.copy(earth);
      if (Math.abs(moved) > UNMOVED) here.lerp(moved < 0 ? dug : raised, Math.min(1, 0.3 + Math.abs(moved) / FULL_COLOUR) * 0.8);
      if (part && heightNear(part, east + this.origin[0], north + this.origin[1]) === ON_A_WAY) here.copy(way);
      here.toArray(colours, at);
    }
    return colours;
  }
}

/** Put nodes and their order into a geometry; kept arrays are written over when they have the right size. */
function fill(geometry: BufferGeometry, positions: Float32Array, order: Uint32Array): void {
  const known = geometry.getAttribute("position") as BufferAttribute | undefined;
  if (known?.array.length === positions.length && geometry.index?.array.length === order.length) {
    known.array.set(positions);
    known.needsUpdate = true;
    return;
  }
  // A geometry of another size must give its buffers back before it is filled anew.
  geometry.dispose();
  geometry.setAttribute("position", new BufferAttribute(positions, 3));
  geometry.setIndex(new BufferAttribute(order, 1));
}

function reach(values: readonly number[]): readonly [number, number] {
  return [Math.min(...values), Math.max(...values)];
}
