/** Ways, mounds and seats: each kind with a look of its own that grey still tells apart. */

import Feature from "ol/Feature";
import MultiLineString from "ol/geom/MultiLineString";
import Point from "ol/geom/Point";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import Fill from "ol/style/Fill";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Gate, Job, Seat, Way, WayKind } from "../../api/types";
import type { SitePoint } from "../../geometry/types";
import type { Selection } from "../../state/session";
import { units } from "../../state/settings";
import { type Built, FIRST_WIDTHS, builtOf, gatesOn, nameOf, percent, pointsOf } from "../built";
import type { Kept } from "../fields";
import { FONT, type LineName, colour, faded, fill, halo, inkOf, pen } from "../ink";
import { LINE, type WordsOfPlan, middleAlong, straightest } from "../labels";
import { drawnPlace } from "../places";
import { redraw } from "../redraw";
import { say } from "../say";
import { bestFall, shortFallName } from "../seen-falls";
import { type Desk, type PlanLayer, jobOf } from "./layer";
import { type SignName, sign } from "./signs";
import { lineFeature, plain, pointFeature, polygonFeature } from "./vectors";
import { SEAT_GAP, inTwoLines, setAt } from "./words";

/** Boards of a bridge and treads of a flight of steps: so far from one another on the ground, and on the screen at least. */
const ACROSS: Readonly<Partial<Record<WayKind, readonly [metres: number, pixels: number]>>> = { bridge: [0.3, 7], deck: [0.3, 7], steps: [0.35, 9] };

interface Looked {
  get(key: string): unknown;
  getGeometry(): unknown;
}

export function builtLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorLayer({ source, style: (feature, resolution) => styleOf(feature as unknown as Looked, resolution, words) });
  desk.session.want("views", true, "plan");
  const stop = redraw(
    () => ({
      job: jobOf(desk),
      selection: desk.session.selection.value,
      views: desk.fields.of("views").value,
      on: desk.shown.layers.ways.value,
      units: units.value,
      written: desk.words.value,
      figures: desk.session.figures.value,
    }),
    ({ job, selection, views, on, written, figures }) => {
      words = written;
      source.clear(true);
      const told = (built: Built): string[] => (job && built.kind === "seat" ? seatWords(built, views, bestName(job, built, figures)) : [nameOf(built)]);
      if (job && on) for (const built of builtOf(job)) source.addFeatures(featuresOf(job, built, selection, told));
      if (job) source.addFeatures(lowSpots(job, selection));
      layer.changed();
    },
  );
  return {
    layer,
    stop: () => {
      stop();
      desk.session.want("views", false, "plan");
    },
  };
}

function featuresOf(job: Job, built: Built, selection: Selection | null, told: (built: Built) => string[]): Feature[] {
  const drawn = drawnPlace(job, built.place);
  if (drawn === null) return [];
  const isChosen = selection?.kind === built.kind && selection.id === built.id;
  const values = { chosen: isChosen, key: `${built.kind}:${built.id}`, kind: built.kind === "way" ? (built.row as Way).kind : built.kind, name: nameOf(built), zIndex: built.kind === "seat" ? 4 : 1 };
  const handles = isChosen && drawn.as !== "point" ? pointsOf(built).map((point, at) => pointFeature(point, { as: "handle", chosen: selection.at === at })) : [];
  if (drawn.as === "point") return [...aim(built, drawn.point), pointFeature(drawn.point, { ...values, as: "mark", sign: built.kind === "seat" ? ((built.row as Seat).kind ?? "seat") : "light", words: told(built) })];
  const width = built.kind === "way" ? ((built.row as Way).width ?? FIRST_WIDTHS[(built.row as Way).kind]) : 0;
  const gates = built.kind === "way" ? ((built.row as Way).gates ?? []) : [];
  const shape = drawn.as === "line" ? lineFeature(drawn.line, { ...values, as: "line", width, gates }) : polygonFeature([drawn.ring], { ...values, as: "area" });
  return [shape, ...handles];
}

/** Where a light is aimed. */
function aim({ kind, row }: Built, from: SitePoint): Feature[] {
  const to = kind === "way" ? ((row as Way).aims_at ?? null) : null;
  return to ? [lineFeature([from, [to.east, to.north]], { as: "aim" })] : [];
}

function lowSpots(job: Job, selection: Selection | null): Feature[] {
  return Object.entries(job.shape.bodies ?? {}).flatMap(([body, { low_spot: spot }]) =>
    spot ? [pointFeature([spot.east, spot.north], { as: "low", chosen: selection?.kind === "low_spot" && selection.id === body })] : [],
  );
}

function bestName(job: Job, { id }: Built, figures: Readonly<Record<string, number>>): string | null {
  const best = bestFall(job, id, figures);
  return best && shortFallName(job, best);
}

/** Name of a seat, and under it what is seen from there, as the newest answer tells; the fall of which most is seen by its name. */
export function seatWords(built: Built, views: Kept | null, fall: string | null = null): string[] {
  const at = views?.head.ids?.indexOf(built.id) ?? -1;
  const columns = views?.head.columns?.length ?? 0;
  if (views === null || at < 0 || columns === 0) return [nameOf(built)];
  const of = (name: string): number => views.field.data[at * columns + (views.head.columns as readonly string[]).indexOf(name)] as number;
  const [share, count, all] = [of("share"), of("falls_seen"), of("falls")];
  const best = of("best_fall");
  const part = count === 0 && best > 0 ? [say("plan.seat.fallPart", { share: percent(best), fall: fall ?? say("plan.seat.aFall") })] : null;
  const falls = part ?? (all > 0 ? [say(count === 1 ? "plan.seat.fall" : "plan.seat.falls", { count, all })] : []);
  return [nameOf(built), say("plan.seat.sees", { share: percent(share) }), ...falls];
}

function styleOf(feature: Looked, resolution: number, words: WordsOfPlan): Style | Style[] {
  const as = feature.get("as");
  if (as === "handle") return handle(feature.get("chosen") === true);
  if (as === "aim") return new Style({ stroke: pen("light"), zIndex: 3 });
  if (as === "low") return lowSpot(feature.get("chosen") === true);
  if (as === "mark") return markStyles(feature, resolution, words);
  const drawn = as === "line" ? lineStyles(feature, resolution) : areaStyles(feature, resolution);
  return [...drawn, ...name(feature, resolution, words)];
}

function lineStyles(feature: Looked, resolution: number): Style[] {
  const kind = feature.get("kind") as WayKind;
  const line = coordinates(feature);
  const metres = feature.get("width") as number;
  const edge = pen(kind).getWidth() ?? 1;
  const wide = Math.max(metres / resolution, 5);
  const chosen = feature.get("chosen") === true;
  const halos = chosen ? [new Style({ stroke: stroke("select", wide + 10) }), new Style({ stroke: stroke("paper", wide + 6) })] : [];
  if (kind === "wall") return [...halos, new Style({ stroke: new Stroke({ color: inkOf("wall"), width: Math.max(metres / resolution, edge), lineCap: "butt" }) })];
  if (kind === "fence") return [...halos, ...fenceStyles(feature, line, resolution)];
  const dash = pen(kind).getLineDash() ?? [];
  const inside = kind === "bed" ? "good" : "paper-2";
  const casing = new Style({ stroke: new Stroke({ color: inkOf(kind), width: wide + edge, lineCap: "butt", ...(dash.length > 0 ? { lineDash: dash } : {}) }) });
  const body = [new Style({ stroke: stroke("paper", Math.max(wide - edge, 1)) }), new Style({ stroke: new Stroke({ color: faded(inside, kind === "bed" ? 0.2 : 0.75), width: Math.max(wide - edge, 1), lineCap: "butt" }) })];
  const across = ACROSS[kind];
  const boards = across ? [new Style({ geometry: new MultiLineString(boardsOf(line, Math.max(across[0], across[1] * resolution), (wide * resolution) / 2).map(plain)), stroke: stroke("ink", 1) })] : [];
  return [...halos, casing, ...body, ...boards];
}

/** A fence is a thin line with short ones across it; a gate is a gap between two posts. */
function fenceStyles(feature: Looked, line: readonly SitePoint[], resolution: number): Style[] {
  const gates = gatesOn(line, feature.get("gates") as readonly Gate[]);
  const ticks = boardsOf(line, Math.max(1, 10 * resolution), 3.5 * resolution);
  const posts = gates.flatMap((gate) => postsOf(gate, 6 * resolution));
  return [
    new Style({ stroke: pen("fence") }),
    new Style({ geometry: new MultiLineString(ticks.map(plain)), stroke: pen("fence") }),
    new Style({ geometry: new MultiLineString(gates.map((gate) => plain([...gate]))), stroke: stroke("paper", 9) }),
    new Style({ geometry: new MultiLineString(posts.map(plain)), stroke: stroke("ink", 2) }),
    new Style({ geometry: new MultiLineString(gates.map((gate) => plain([...gate]))), stroke: stroke("ink", 1) }),
  ];
}

/** A short line across a gate at each of its ends. */
function postsOf([from, to]: readonly [SitePoint, SitePoint], half: number): SitePoint[][] {
  const long = lengthOf([from, to]) || 1;
  const [x, y] = [(-(to[1] - from[1]) / long) * half, ((to[0] - from[0]) / long) * half];
  return [from, to].map(([east, north]): SitePoint[] => [[east - x, north - y], [east + x, north + y]]);
}

/** Short lines across a line, evenly apart. */
export function boardsOf(line: readonly SitePoint[], apart: number, half: number): SitePoint[][] {
  const boards: SitePoint[][] = [];
  let left = apart / 2;
  for (let at = 1; at < line.length; at += 1) {
    const [from, to] = [line[at - 1] as SitePoint, line[at] as SitePoint];
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (long === 0) continue;
    const [east, north] = [(to[0] - from[0]) / long, (to[1] - from[1]) / long];
    for (; left <= long; left += apart) {
      const [x, y] = [from[0] + east * left, from[1] + north * left];
      boards.push([[x - north * half, y + east * half], [x + north * half, y - east * half]]);
    }
    left -= long;
  }
  return boards;
}

function areaStyles(feature: Looked, resolution: number): Style[] {
  const kind = feature.get("kind") as WayKind | "mound";
  const chosen = feature.get("chosen") === true;
  const halos = chosen ? [new Style({ stroke: stroke("select", 8) }), new Style({ stroke: stroke("paper", 5) })] : [];
  const ring = coordinates(feature);
  const drawn = new Style({ stroke: pen(kind as LineName), fill: new Fill({ color: kind === "bed" ? faded("good", 0.14) : kind === "mound" ? faded("contour", 0.14) : faded("paper", 0.8) }) });
  if (kind === "mound") return [...halos, drawn, new Style({ geometry: new MultiLineString(hachures(ring, 11 * resolution, 9 * resolution).map(plain)), stroke: pen("mound") })];
  const boards = kind === "deck" ? [new Style({ geometry: new MultiLineString(boardsIn(ring, Math.max(0.3, 7 * resolution)).map(plain)), stroke: stroke("ink", 0.8) })] : [];
  return [...halos, drawn, ...boards];
}

/** Strokes from the foot of a mound up its side, as maps draw a slope. */
function hachures(ring: readonly SitePoint[], apart: number, long: number): SitePoint[][] {
  const turned = ring.reduce((sum, [east, north], at) => {
    const [nextEast, nextNorth] = ring[(at + 1) % ring.length] as SitePoint;
    return sum + east * nextNorth - nextEast * north;
  }, 0);
  return boardsOf(ring, apart, long).map(([left, right]) => {
    const foot: SitePoint = [((left as SitePoint)[0] + (right as SitePoint)[0]) / 2, ((left as SitePoint)[1] + (right as SitePoint)[1]) / 2];
    return [foot, (turned > 0 ? left : right) as SitePoint];
  });
}

/** Parallel lines inside a ring, along its longest side. */
export function boardsIn(ring: readonly SitePoint[], apart: number): SitePoint[][] {
  const sides = ring.slice(1).map((to, at): readonly [SitePoint, SitePoint] => [ring[at] as SitePoint, to]);
  const longest = sides.reduce((best, side) => (lengthOf(side) > lengthOf(best) ? side : best), sides[0] as readonly [SitePoint, SitePoint]);
  const long = lengthOf(longest) || 1;
  const [east, north] = [(longest[1][0] - longest[0][0]) / long, (longest[1][1] - longest[0][1]) / long];
  const across = ([x, y]: SitePoint): number => -x * north + y * east;
  const along = ([x, y]: SitePoint): number => x * east + y * north;
  const heights = ring.map(across);
  const lines: SitePoint[][] = [];
  for (let at = Math.min(...heights) + apart; at < Math.max(...heights); at += apart) {
    const cuts = sides
      .flatMap(([from, to]) => {
        const [low, high] = [across(from), across(to)];
        if (low > at === high > at) return [];
        return [along(from) + ((at - low) / (high - low)) * (along(to) - along(from))];
      })
      .sort((one, other) => one - other);
    for (let cut = 0; cut + 1 < cuts.length; cut += 2) {
      const point = (distance: number): SitePoint => [east * distance - north * at, north * distance + east * at];
      lines.push([point(cuts[cut] as number), point(cuts[cut + 1] as number)]);
    }
  }
  return lines;
}

function lengthOf([from, to]: readonly [SitePoint, SitePoint]): number {
  return Math.hypot(to[0] - from[0], to[1] - from[1]);
}

/** A seat is a bench, a window a frame, a stop on a path two soles. */
function markStyles(feature: Looked, resolution: number, words: WordsOfPlan): Style[] {
  const chosen = feature.get("chosen") === true;
  const mark = new Style({ image: sign(feature.get("sign") as SignName, chosen), zIndex: 4 });
  const side = words.at(resolution).sides.get(String(feature.get("key"))) ?? (chosen ? "right" : null);
  const told = feature.get("words") as readonly string[];
  const lines = words.at(resolution).folded.has(String(feature.get("key"))) ? told : inTwoLines(told);
  if (side) mark.setText(new Text({ ...setAt(side, SEAT_GAP, 0, lines.length), text: lines.join("\n"), font: `600 12px/${LINE}px ${FONT}`, fill: fill("ink"), stroke: halo(4) }));
  return [mark];
}

/** A funnel: the place that everything runs to. */
function lowSpot(chosen: boolean): Style {
  const ink = colour(chosen ? "select" : "ink");
  return new Style({ image: new RegularShape({ points: 3, radius: chosen ? 11 : 8, rotation: Math.PI, stroke: new Stroke({ color: ink, width: chosen ? 3 : 1.5 }), fill: fill("water") }), zIndex: 3 });
}

function handle(chosen: boolean): Style {
  const image = chosen ? new RegularShape({ points: 4, radius: 10, angle: Math.PI / 4, fill: fill("select"), stroke: new Stroke({ color: colour("paper"), width: 2 }) }) : new CircleStyle({ radius: 6, fill: fill("paper"), stroke: new Stroke({ color: colour("select"), width: 2.5 }) });
  return new Style({ image, zIndex: 6 });
}

/** Its name where there is room for it: along a line where that is straight, in the middle of an area. */
function name(feature: Looked, resolution: number, words: WordsOfPlan): Style[] {
  const has = words.at(resolution).sides.has(String(feature.get("key")));
  if (!has && feature.get("chosen") !== true) return [];
  const line = feature.get("as") === "line" ? middleAlong(straightest(coordinates(feature))) : null;
  const text = new Text({ ...setAt("on", 0, line?.turn), text: String(feature.get("name")), font: `12px ${FONT}`, fill: fill("ink"), stroke: halo(4) });
  return [new Style({ text, zIndex: 2, ...(line ? { geometry: new Point([...line.point]) } : {}) })];
}

function stroke(token: string, width: number): Stroke {
  return new Stroke({ color: colour(token), width, lineCap: "butt" });
}

function coordinates(feature: Looked): SitePoint[] {
  const raw = (feature.getGeometry() as { getCoordinates(): number[][] | number[][][] }).getCoordinates();
  const flat = (feature.get("as") === "area" ? (raw as number[][][])[0] : (raw as number[][])) ?? [];
  return flat.map(([east = 0, north = 0]): SitePoint => [east, north]);
}

