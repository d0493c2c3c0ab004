/** The scene in the round: new ground as a surface, old ground as a net, water as a plane; seen from outside, or by one who sits. Draws only when told. */

import {
  AmbientLight,
  BufferAttribute,
  BufferGeometry,
  Color,
  DataTexture,
  DirectionalLight,
  DoubleSide,
  Group,
  IcosahedronGeometry,
  InstancedMesh,
  LineBasicMaterial,
  LineSegments,
  LinearFilter,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  Object3D,
  Path,
  PerspectiveCamera,
  SRGBColorSpace,
  Scene,
  Shape,
  ShapeGeometry,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import type { Ink } from "../charts/ink";
import type { SitePoint } from "../geometry/types";
import { type Eye, FROM_SOUTH, offsetOf } from "./orbit";
import type { Corner3, Face } from "./built";
import { type Coloured, coloursOf, wayColour } from "./colours";
import { type Pose, flown, FLIGHT } from "./flight";
import { type Head, aheadOf, takesIn } from "./head";
import type { Water } from "./seats";
import { type SeenInk, seenPixels } from "./seen";
import type { Solid } from "./stones";
import { type Ground, type Surface, type Terrain, heightNear, heightOn, netOf, normalsOf, terrainOf } from "./terrain";

export type Layer = "old" | "new" | "water" | "ways" | "seats" | "things" | "liner" | "stones";

/** One who sits and looks. */
export interface Sitter {
  readonly eye: Corner3;
  readonly head: Head;
}

/** Where a place stands in the picture, from its upper left corner, and how far from the eye it is; null behind the eye. */
export type Projection = (place: Corner3) => { readonly x: number; readonly y: number; readonly away: number } | null;

/** Old ground is shown where it lies so far from the new one [m]. */
const SEEN_APART = 0.05;
const NET_LINES = 80;
const NEAR_SHARE = 0.06;
const WATER_OPACITY = 0.62;
/** Of the sides of a stone, so that the solid fills them. */
const FILLS = 1.12;
/** A line on the ground is drawn so much over it, so that it is not lost in it [m]. */
const LINE_OVER = 0.05;
const SHORE_OVER = 0.03;
/** Where the sun stands, and how bright it and the sky are. */
const SUN = [-0.7, 0.55, 0.6] as const;
const SUN_LIGHT = 2.3;
const SKY_LIGHT = 1.15;
/** Share of its colour that level ground has in this light. */
const ON_LEVEL = (SKY_LIGHT + (SUN_LIGHT * SUN[2]) / Math.hypot(...SUN)) / Math.PI;
/** How much of the upright the picture takes in from outside [degrees]. */
const FROM_OUTSIDE = 38;

export class NoWebGl extends Error {}

export class GroundScene {
  readonly canvas: HTMLCanvasElement;
  eye: Eye = FROM_SOUTH;
  /** Who sits and looks; none is from outside. */
  sitter: Sitter | null = null;
  /** Told after each picture. */
  drawn: (project: Projection) => void = () => undefined;

  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(FROM_OUTSIDE, 1, 0.1, 5000);
  private readonly stretched = new Group();
  private readonly ground = new Mesh(new BufferGeometry(), new MeshLambertMaterial({ vertexColors: true, side: DoubleSide }));
  private readonly net = new LineSegments(new BufferGeometry(), new LineBasicMaterial({ transparent: true, opacity: 0.7 }));
  private readonly water = new Group();
  private readonly waterInk = new MeshBasicMaterial({ transparent: true, opacity: WATER_OPACITY, side: DoubleSide, depthWrite: false });
  private readonly shoreInk = new LineBasicMaterial();
  private readonly built = new Mesh(new BufferGeometry(), new MeshLambertMaterial({ side: DoubleSide }));
  private readonly bands = new Mesh(new BufferGeometry(), new MeshBasicMaterial({ side: DoubleSide }));
  private readonly seats = new Mesh(new BufferGeometry(), new MeshLambertMaterial({ side: DoubleSide }));
  private readonly things = new Mesh(new BufferGeometry(), new MeshLambertMaterial({ side: DoubleSide }));
  private readonly liner = new LineSegments(new BufferGeometry(), new LineBasicMaterial());
  private readonly stoneShape = new IcosahedronGeometry(0.5);
  private readonly stoneInk = new MeshLambertMaterial({ flatShading: true });
  private stones = new InstancedMesh(this.stoneShape, this.stoneInk, 0);
  private origin: readonly [number, number, number] = [0, 0, 0];
  private size = 1;
  private waiting = 0;
  private factor = 1;
  private terrain: Terrain | null = null;
  /** The way that the eye is on; it begins with the first picture of it. */
  private flight: { readonly from: Pose; readonly since: number | null } | null = null;

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
    for (const part of [this.ground, this.net, this.built, this.bands, this.seats, this.things, this.liner]) part.frustumCulled = false;
    // The library shades flat for good what has no uprights when it is first drawn.
    this.ground.geometry.setAttribute("normal", new BufferAttribute(new Float32Array(3), 3));
    const sun = new DirectionalLight(0xffffff, SUN_LIGHT);
    sun.position.set(...SUN);
    this.stretched.add(this.ground, this.net, this.water, this.built, this.bands, this.seats, this.things, this.liner);
    this.scene.add(this.stretched, sun, new AmbientLight(0xffffff, SKY_LIGHT));
  }

  /** What is looked at, and how large it is: the water, or the whole site where there is none; counted from its middle. */
  settle({ grid }: Surface, planes: readonly Water[], middleHeight: number): void {
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

  /** New ground, coloured by what was dug and raised; paler where it is guessed. */
  showGround(surface: Surface, of: Coloured, most: number, ink: Ink): void {
    const terrain = terrainOf(surface, most, this.origin);
    this.terrain = terrain;
    fill(this.ground.geometry, terrain.positions, terrain.triangles);
    this.ground.geometry.setAttribute("color", new BufferAttribute(coloursOf(terrain, this.origin, of, ink), 3));
    this.ground.geometry.setAttribute("normal", new BufferAttribute(normalsOf(terrain), 3));
  }

  /** Height of the ground as it is drawn, on its triangles: what stands or lies on it neither floats nor sinks. */
  readonly groundAt: Ground = (east, north) => (this.terrain ? heightOn(this.terrain, east - this.origin[0], north - this.origin[1]) + this.origin[2] : 0);

  /** Whether there is ground in the picture at a place. */
  readonly isDrawn = (east: number, north: number): boolean => {
    const positions = this.terrain?.positions;
    if (!positions) return false;
    const [x, y, last] = [east - this.origin[0], north - this.origin[1], positions.length - 3];
    return x >= (positions[0] as number) && y >= (positions[1] as number) && x <= (positions[last] as number) && y <= (positions[last + 1] as number);
  };

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
  showWater(planes: readonly Water[], ink: Ink): void {
    for (const child of [...this.water.children]) {
      this.water.remove(child);
      (child as Mesh).geometry.dispose();
    }
    if (this.waterInk.map === null) this.waterInk.color = new Color(ink.water);
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

  /** Water that is seen from a seat beside water that is hidden from it; with nothing all water is alike. */
  showSeen(mask: Surface | null, ink: SeenInk): void {
    this.waterInk.map?.dispose();
    const wasMapped = this.waterInk.map !== null;
    this.waterInk.map = mask && this.mapOf(mask, ink);
    this.waterInk.color = new Color(mask ? "#ffffff" : ink.water);
    this.waterInk.opacity = mask ? 1 : WATER_OPACITY;
    if (wasMapped !== (mask !== null)) this.waterInk.needsUpdate = true;
  }

  private mapOf({ field, grid }: Surface, ink: SeenInk): DataTexture {
    const map = new DataTexture(seenPixels(field.data, grid, ink), grid.columns, grid.rows);
    map.colorSpace = SRGBColorSpace;
    map.magFilter = LinearFilter;
    map.matrixAutoUpdate = false;
    // The water is laid out in metres from the origin; a node is the middle of its picture point.
    const [across, up] = [grid.columns * grid.spacing, grid.rows * grid.spacing];
    const [east, north] = [this.origin[0] - grid.origin_east + grid.spacing / 2, this.origin[1] - grid.origin_north + grid.spacing / 2];
    map.matrix.set(1 / across, 0, east / across, 0, 1 / up, north / up, 0, 0, 1);
    map.needsUpdate = true;
    return map;
  }

  /** Walls, fences, bridges and decks, and the bands of paths on the ground. */
  showBuilt(faces: readonly Face[], bands: readonly Face[], ink: Ink): void {
    this.showFaces(this.built, faces, new Color(ink.muted));
    // As the light falls on level ground: its whole centimetres would make each piece of another shade.
    this.showFaces(this.bands, bands, wayColour(ink).multiplyScalar(ON_LEVEL));
  }

  /** Seats, windows and places to stop. */
  showSeats(faces: readonly Face[], ink: Ink): void {
    this.showFaces(this.seats, faces, new Color(ink.ink).lerp(new Color(ink["paper-2"]), 0.12));
  }

  /** Houses, sheds, fences: what stood there before. */
  showThings(faces: readonly Face[], ink: Ink): void {
    this.showFaces(this.things, faces, new Color(ink["paper-2"]).lerp(new Color(ink.muted), 0.3));
  }

  private showFaces(part: Mesh<BufferGeometry, MeshLambertMaterial | MeshBasicMaterial>, faces: readonly Face[], colour: Color): void {
    const positions = faces.flatMap((face) => face.flatMap(([east, north, height]) => [east - this.origin[0], north - this.origin[1], height - this.origin[2]]));
    const order = faces.flatMap((_, at) => [0, 1, 2, 0, 2, 3].map((corner) => 4 * at + corner));
    fill(part.geometry, Float32Array.from(positions), Uint32Array.from(order));
    part.geometry.computeVertexNormals();
    part.material.color = colour;
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
    this.bands.visible = layer === "ways" ? on : this.bands.visible;
    const parts = { old: this.net, new: this.ground, water: this.water, ways: this.built, seats: this.seats, things: this.things, liner: this.liner, stones: this.stones };
    parts[layer].visible = on;
  }

  stretch(factor: number): void {
    this.factor = factor;
  }

  paper(colour: string): void {
    this.scene.background = new Color(colour);
  }

  resize(width: number, height: number): void {
    this.renderer.setSize(width, height);
    this.camera.aspect = width / Math.max(height, 1);
  }

  get aspect(): number {
    return this.camera.aspect;
  }

  /** Go to a seat, or back out of it, on the way through the air. */
  fly(): void {
    this.flight = { from: this.pose(), since: null };
  }

  /** Draw at the next screen frame. */
  redraw(): void {
    if (this.waiting) return;
    this.waiting = window.requestAnimationFrame(() => {
      this.waiting = 0;
      if (this.flight?.since === null) this.flight = { ...this.flight, since: performance.now() };
      this.take(this.pose());
      this.renderer.render(this.scene, this.camera);
      this.drawn(this.project);
      if (this.flight) this.redraw();
    });
  }

  /** Where the picture is taken from now. */
  private pose(): Pose {
    const goal = this.sitter ? this.poseOfSitter(this.sitter) : this.poseFromOutside();
    if (!this.flight) return goal;
    const { from, since } = this.flight;
    const share = since === null ? 0 : (performance.now() - since) / FLIGHT;
    if (share < 1) return flown(from, goal, share);
    this.flight = null;
    return goal;
  }

  private poseOfSitter({ eye, head }: Sitter): Pose {
    const place: Corner3 = [eye[0] - this.origin[0], eye[1] - this.origin[1], eye[2] - this.origin[2]];
    return { place, ahead: aheadOf(head), upright: takesIn(head, this.camera.aspect), factor: 1 };
  }

  private poseFromOutside(): Pose {
    const place = offsetOf(this.eye, this.size);
    // What is near looks larger: looking a little before the middle fills the picture evenly.
    const ahead = new Vector3((NEAR_SHARE - 1) * place[0], (NEAR_SHARE - 1) * place[1], -place[2]).normalize();
    return { place, ahead: [ahead.x, ahead.y, ahead.z], upright: (FROM_OUTSIDE * Math.PI) / 180, factor: this.factor };
  }

  private take({ place: [east, north, up], ahead, upright, factor }: Pose): void {
    this.stretched.scale.z = factor;
    this.camera.fov = (upright * 180) / Math.PI;
    this.camera.updateProjectionMatrix();
    this.camera.position.set(east, north, up);
    this.camera.lookAt(east + ahead[0], north + ahead[1], up + ahead[2]);
    this.camera.updateMatrixWorld();
  }

  private readonly project: Projection = ([east, north, height]) => {
    const there = new Vector3(east - this.origin[0], north - this.origin[1], (height - this.origin[2]) * this.stretched.scale.z);
    const away = there.distanceTo(this.camera.position);
    const { x, y, z } = there.project(this.camera);
    const { clientWidth: width, clientHeight: tall } = this.canvas;
    return z > 1 ? null : { x: ((x + 1) / 2) * width, y: ((1 - y) / 2) * tall, away };
  };

  /** The eye in places of the site, as if heights were drawn as they are. */
  eyePlace(): Corner3 {
    const { x, y, z } = this.camera.position;
    return [x + this.origin[0], y + this.origin[1], z / this.stretched.scale.z + this.origin[2]];
  }

  dispose(): void {
    window.cancelAnimationFrame(this.waiting);
    this.showWater([], { water: "#000", shore: "#000" } as Ink);
    for (const part of [this.ground, this.net, this.built, this.bands, this.seats, this.things, this.liner]) {
      part.geometry.dispose();
      part.material.dispose();
    }
    this.stones.dispose();
    this.stoneShape.dispose();
    this.stoneInk.dispose();
    this.waterInk.map?.dispose();
    this.waterInk.dispose();
    this.shoreInk.dispose();
    this.renderer.dispose();
    this.canvas.remove();
  }

  private shoreLine(ring: readonly SitePoint[], level: number): LineSegments {
    const corners = ring.flatMap((from, at) => [from, ring[(at + 1) % ring.length] as SitePoint]);
    const positions = corners.flatMap(([east, north]) => [east - this.origin[0], north - this.origin[1], level - this.origin[2] + SHORE_OVER]);
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(Float32Array.from(positions), 3));
    return new LineSegments(geometry, this.shoreInk);
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
