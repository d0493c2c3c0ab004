/** What covers the bank, hatched so that grey still tells it apart; stones in their true size; piles and machines with their reach. */

import type Feature from "ol/Feature";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import Fill from "ol/style/Fill";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Piece, TreatmentKind } from "../../api/stone";
import type { Job } from "../../api/types";
import type { SitePoint } from "../../geometry/types";
import type { Selection } from "../../state/session";
import { FONT, colour, faded, fill, halo, looks } from "../ink";
import type { WordsOfPlan } from "../labels";
import { drawnPlace } from "../places";
import { redraw } from "../redraw";
import { type StoneArea, type StoneRun, type Yard, areasTold, runsTold, settingTold, yardTold } from "../stone-fields";
import { type LaidStone, type StonePlace, handleOf, laidAlong, outlineOf, piecesOf, stonePlaces, turnOf } from "../stones";
import { newestTold } from "../water-fields";
import { type Desk, type PlanLayer, jobOf, jobOfSection } from "./layer";
import { sign } from "./signs";
import { lineFeature, pointFeature, polygonFeature } from "./vectors";
import { STONE_GAP, isNamed, setAt } from "./words";

const BAND = 13; // pixels of a cover along the shore
const TAGS_FROM = 0.05; // metres for a pixel
const MARKS_FROM = 0.4;

interface Looked {
  get(key: string): unknown;
}

// What covers the bank.

export function treatmentsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: (feature) => coverStyles(feature as unknown as Looked) });
  const [readRuns, readAreas] = [newestTold(runsTold), newestTold(areasTold)];
  const stop = redraw(
    () => {
      const frame = desk.session.frame.value;
      return { job: jobOf(desk), runs: readRuns(frame), areas: readAreas(frame), on: desk.shown.layers.treatments.value, moving: desk.session.preview.value !== null };
    },
    ({ job, runs, areas, on, moving }) => {
      source.clear(true);
      if (job && on) source.addFeatures(coverFeatures(job, moving ? [] : (runs ?? []), moving ? [] : (areas ?? [])));
      layer.changed();
    },
  );
  return { layer, stop };
}

/** Courses stone by stone where the model has told them, everything else as a hatch; while the hand bends the shore only what follows it. */
function coverFeatures(job: Job, runs: readonly StoneRun[], areas: readonly StoneArea[]): Feature[] {
  const told = new Set(runs.map(({ row }) => row));
  const stretches = Object.entries(job.stone?.treatments ?? {}).flatMap(([id, row]): Feature[] => {
    if (row.place.at !== "stretch" || told.has(id)) return [];
    const drawn = drawnPlace(job, row.place);
    return drawn?.as === "line" ? [lineFeature(drawn.line, { as: "band", kind: row.kind })] : [];
  });
  const grounds = areas.map(({ rings, kind }) => polygonFeature(rings, { as: "area", kind }));
  const stones = runs.flatMap((run) => laidAlong(run).map((stone) => polygonFeature([blobOf(stone)], { as: "course", told: run.row !== "", hidden: run.hidden })));
  return [...grounds, ...stretches, ...stones];
}

const BLOB = [[1, 0.35], [0.7, 0.92], [-0.25, 1], [-0.85, 0.75], [-1, -0.2], [-0.75, -0.9], [0.2, -1], [0.9, -0.7]] as const;

/** A stone of a course as a rough shape. */
function blobOf({ middle: [x, y], turn, along, across }: LaidStone): SitePoint[] {
  const [east, north] = [Math.sin(turn) / 2, Math.cos(turn) / 2];
  return BLOB.map(([a, b]): SitePoint => [x + a * along * east + b * across * north, y + a * along * north - b * across * east]);
}

function coverStyles(feature: Looked): Style[] {
  if (feature.get("as") === "course") {
    const told = feature.get("told") === true;
    return [new Style({ fill: fill("paper", told ? 0.95 : 0.7), stroke: new Stroke({ color: colour(told ? "ink" : "muted"), width: told ? 1.1 : 0.7 }) })];
  }
  const kind = feature.get("kind") as TreatmentKind;
  const hatch = hatchOf(kind);
  if (feature.get("as") === "area") return [new Style({ fill: new Fill({ color: hatch }), stroke: new Stroke({ color: faded("ink", 0.55), width: 0.9, lineDash: kind === "bare" ? [4, 4] : [] }) })];
  return [
    new Style({ stroke: new Stroke({ color: colour("ink"), width: BAND + 2, lineCap: "butt" }) }),
    new Style({ stroke: new Stroke({ color: colour("paper"), width: BAND, lineCap: "butt" }) }),
    new Style({ stroke: new Stroke({ color: hatch, width: BAND, lineCap: "butt" }) }),
  ];
}

// Hatches: each kind has one of its own, drawn in ink alone.

const TILE = 24;

type Draw = (pen: CanvasRenderingContext2D) => void;

const dots = (places: readonly (readonly [number, number])[], radius: number): Draw => (pen) => {
  for (const [x, y] of places) {
    pen.beginPath();
    pen.arc(x, y, radius, 0, 2 * Math.PI);
    pen.fill();
  }
};

const HATCHES: Readonly<Record<TreatmentKind, Draw>> = {
  /** Three stones side by side. */
  courses: (pen) => {
    for (const [x, y, wide, high] of [[7, 7, 6, 4.5], [19, 8, 4.5, 4], [13, 18, 6, 4.5], [1, 18, 4, 4], [25, 18, 4, 4]] as const) {
      pen.beginPath();
      pen.ellipse(x, y, wide, high, 0, 0, 2 * Math.PI);
      pen.stroke();
    }
  },
  /** Round stones, open. */
  cobble: (pen) => {
    for (const [x, y] of [[6, 6], [18, 6], [12, 14], [0, 14], [24, 14], [6, 21], [18, 21]] as const) {
      pen.beginPath();
      pen.arc(x, y, 2.6, 0, 2 * Math.PI);
      pen.stroke();
    }
  },
  /** Fine dots. */
  gravel: dots([[3, 4], [11, 3], [19, 5], [7, 11], [15, 12], [23, 11], [3, 19], [11, 20], [19, 18]], 1.15),
  /** Tufts. */
  planted: (pen) => {
    for (const [x, y] of [[6, 10], [18, 22]] as const) {
      for (const lean of [-4, 0, 4]) {
        pen.beginPath();
        pen.moveTo(x, y);
        pen.lineTo(x + lean, y - 8);
        pen.stroke();
      }
    }
  },
  /** Bond of a wall. */
  wall: (pen) => {
    for (const [x, y, toX, toY] of [[0, 0.5, 24, 0.5], [0, 12, 24, 12], [6, 0, 6, 12], [18, 12, 18, 24]] as const) {
      pen.beginPath();
      pen.moveTo(x, y);
      pen.lineTo(toX, toY);
      pen.stroke();
    }
  },
  /** Boards. */
  deck: (pen) => {
    for (const x of [4, 12, 20]) {
      pen.beginPath();
      pen.moveTo(x, 0);
      pen.lineTo(x, TILE);
      pen.stroke();
    }
  },
  bare: (pen) => {
    pen.beginPath();
    pen.moveTo(0, TILE);
    pen.lineTo(TILE, 0);
    pen.stroke();
  },
};

const made = new Map<string, CanvasPattern | string>();
let look = -1;

/** Hatch of a kind, drawn once for each look of the page; a plain grey where there is no canvas. */
function hatchOf(kind: TreatmentKind): CanvasPattern | string {
  if (look !== looks.value) made.clear();
  look = looks.value;
  const known = made.get(kind);
  if (known !== undefined) return known;
  const canvas = document.createElement("canvas");
  const scale = Math.max(1, Math.round(window.devicePixelRatio || 1));
  [canvas.width, canvas.height] = [TILE * scale, TILE * scale];
  const pen = canvas.getContext("2d");
  if (!pen) return faded("ink", 0.2);
  pen.scale(scale, scale);
  pen.strokeStyle = colour("ink");
  pen.fillStyle = colour("ink");
  pen.lineWidth = 1.1;
  HATCHES[kind](pen);
  const pattern = pen.createPattern(canvas, "repeat") ?? faded("ink", 0.2);
  made.set(kind, pattern);
  return pattern;
}

// Stones, piles, machines.

export function stonesLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorLayer({ source, style: (feature, resolution) => stoneStyles(feature as unknown as Looked, resolution, words) });
  const [readYard, readSetting] = [newestTold(yardTold), newestTold(settingTold)];
  const job = jobOfSection(desk, "stone");
  const stop = redraw(
    () => {
      const frame = desk.session.frame.value;
      return { job: job(), selection: desk.session.selection.value, yard: readYard(frame), setting: readSetting(frame), on: desk.shown.layers.stones.value, moving: desk.session.preview.value !== null, written: desk.words.value };
    },
    ({ job, selection, yard, setting, on, moving, written }) => {
      words = written;
      source.clear(true);
      if (job) {
        const reach = new Map((setting?.lifters ?? []).map(({ id, rows }) => [id, Math.max(0, ...rows.map(([radius]) => radius))]));
        // What is chosen is seen even where its layer is off.
        source.addFeatures(stonePlaces(job).flatMap((one) => (on || isChosen(one, selection) ? placeFeatures(job, one, selection, reach) : [])));
        if (on && !moving) source.addFeatures(dealtFeatures(job, yard));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

function isChosen({ kind, id, at }: StonePlace, selection: Selection | null): boolean {
  return selection?.kind === kind && selection.id === id && (kind !== "stand" || at === (selection.at ?? 0));
}

function placeFeatures(job: Job, one: StonePlace, selection: Selection | null, reach: ReadonlyMap<string, number>): Feature[] {
  const chosen = isChosen(one, selection);
  const values = { chosen, name: one.name, key: `${one.kind}:${one.id}${one.at === undefined ? "" : `/${one.at}`}` };
  if (one.kind === "heap") return [pointFeature(one.point, { ...values, as: "heap" })];
  if (one.kind === "stand") {
    const radius = reach.get(one.id) ?? Math.max(0, ...(job.stone?.lifters?.[one.id]?.chart ?? []).map((row) => row.radius));
    // Of many standing places only that in hand shows its reach: all at once hide the plan.
    return [...(chosen && radius > 0 ? [lineFeature(circle(one.point, radius), { ...values, as: "reach" })] : []), pointFeature(one.point, { ...values, as: "stand", small: !isNamed(one) })];
  }
  const row = piecesOf(job)[one.id];
  if (!row) return [];
  const turn = turnOf(job, row, one.point);
  const handle = handleOf(row, one.point, turn);
  return [
    polygonFeature([outlineOf(row, one.point, turn)], { ...values, as: "stone" }),
    pointFeature(one.point, { ...values, as: "tag" }),
    ...(chosen ? [lineFeature([one.point, handle], { as: "lever" }), pointFeature(handle, { as: "handle", chosen: selection?.at === 1 })] : []),
  ];
}

/** Stones that have been dealt a place and are not set there: dashed, in their true size. */
function dealtFeatures(job: Job, yard: Yard | null): Feature[] {
  return [...(yard?.stones.values() ?? [])].flatMap(({ id, point }): Feature[] => {
    const row: Piece | undefined = piecesOf(job)[id];
    if (!row || row.place || point === null) return [];
    return [polygonFeature([outlineOf(row, point, turnOf(job, row, point))], { as: "dealt" }), pointFeature(point, { as: "tag", name: row.tag || id, dealt: true })];
  });
}

function circle([east, north]: SitePoint, radius: number): SitePoint[] {
  return Array.from({ length: 73 }, (_, at): SitePoint => [east + radius * Math.cos((at * Math.PI) / 36), north + radius * Math.sin((at * Math.PI) / 36)]);
}

function stoneStyles(feature: Looked, resolution: number, words: WordsOfPlan): Style[] {
  const chosen = feature.get("chosen") === true;
  switch (feature.get("as")) {
    case "stone":
      return [new Style({ zIndex: 3, fill: fill("paper-2"), stroke: new Stroke({ color: colour(chosen ? "select" : "ink"), width: chosen ? 3 : 1.6 }) })];
    case "dealt":
      return [new Style({ zIndex: 2, fill: fill("paper", 0.8), stroke: new Stroke({ color: colour("ink"), width: 1.2, lineDash: [4, 3] }) })];
    case "tag": {
      if (resolution > TAGS_FROM && !chosen) return [];
      return [new Style({ zIndex: 4, text: new Text({ text: String(feature.get("name")), font: `${feature.get("dealt") ? "" : "600 "}11px ${FONT}`, fill: fill("ink"), stroke: halo(3) }) })];
    }
    case "reach":
      return [new Style({ zIndex: 1, stroke: new Stroke({ color: faded("paper", 0.85), width: 5 }) }), new Style({ zIndex: 1, stroke: new Stroke({ color: colour("select"), width: 2, lineDash: [10, 4, 2, 4] }) })];
    case "lever":
      return [new Style({ zIndex: 5, stroke: new Stroke({ color: colour("select"), width: 1.5 }) })];
    case "handle":
      return [new Style({ zIndex: 6, image: new CircleStyle({ radius: 7, fill: fill("paper"), stroke: new Stroke({ color: colour("select"), width: chosen ? 4 : 2.5 }) }) })];
    default:
      return markStyles(feature, resolution, words, chosen);
  }
}

function markStyles(feature: Looked, resolution: number, words: WordsOfPlan, chosen: boolean): Style[] {
  if (resolution > MARKS_FROM && !chosen) return [];
  const isSmall = feature.get("small") === true && !chosen;
  const mark = new Style({ zIndex: isSmall ? 4 : 5, image: isSmall ? standMark() : sign(feature.get("as") === "heap" ? "stones" : "digger", chosen) });
  const side = words.at(resolution).sides.get(String(feature.get("key"))) ?? (chosen ? "right" : null);
  if (side) mark.setText(new Text({ ...setAt(side, STONE_GAP), text: String(feature.get("name")), font: `600 12px ${FONT}`, fill: fill("ink"), stroke: halo(4) }));
  return [mark];
}

/** A small square: the machine may stand here too. */
function standMark(): RegularShape {
  return new RegularShape({ points: 4, radius: 6, angle: Math.PI / 4, fill: fill("paper"), stroke: new Stroke({ color: colour("ink"), width: 2 }) });
}
