/** Where the groundwater was read, and what leads it away: drains with the way they fall, outlets, sumps. */

import Feature from "ol/Feature";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Drain, Reading } from "../../api/water";
import { percent, shown as shownValue } from "../../format/shown";
import type { SitePoint } from "../../geometry/types";
import type { Job } from "../../api/types";
import type { Selection } from "../../state/session";
import { heights, units } from "../../state/settings";
import { type Built, nameOf, pointsOf, wateredOf } from "../built";
import { FONT, type LineName, colour, faded, fill, halo, pen } from "../ink";
import type { WordsOfPlan } from "../labels";
import { drawnPlace } from "../places";
import { redraw } from "../redraw";
import { type DrainLine, drainsOf, newestTold } from "../water-fields";
import { type Desk, type PlanLayer, jobOfSection } from "./layer";
import { type SignName, sign } from "./signs";
import { closed, lineFeature, pointFeature } from "./vectors";
import { WATER_GAP, setAt } from "./words";

const FALLS_FROM = 0.12; // metres for a pixel
const INVERTS_FROM = 0.07;
const SIGNS_TO = 0.5;

interface Looked {
  get(key: string): unknown;
}

export function drainsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const read = newestTold(drainsOf);
  const layer = new VectorLayer({ source, style: (feature, resolution) => styleOf(feature as unknown as Looked, resolution, words), declutter: true });
  const job = jobOfSection(desk, "groundwater");
  const stop = redraw(
    () => ({
      job: job(),
      selection: desk.session.selection.value,
      profiles: read(desk.session.frame.value),
      readings: desk.shown.layers.readings.value,
      drains: desk.shown.layers.drains.value,
      moving: desk.session.preview.value !== null,
      waterLine: heights.value === "water" ? desk.session.waterLine.value : null,
      unit: units.value,
      written: desk.words.value,
    }),
    ({ job, selection, profiles, readings, drains, moving, waterLine, written }) => {
      words = written;
      source.clear(true);
      for (const row of job ? wateredOf(job) : []) {
        if (!(row.kind === "reading" ? readings : drains)) continue;
        source.addFeatures(featuresOf(job as Job, row, selection));
        const profile = row.kind === "drain" && !moving ? profiles?.find(({ id }) => id === row.id) : undefined;
        if (profile) source.addFeatures(fallFeatures(profile, waterLine));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

function featuresOf(job: Job, row: Built, selection: Selection | null): Feature[] {
  const drawn = drawnPlace(job, row.place);
  if (drawn === null) return [];
  const chosen = selection?.kind === row.kind && selection.id === row.id;
  const values = { key: `${row.kind}:${row.id}`, name: nameOf(row), chosen };
  if (drawn.as === "point") return [pointFeature(drawn.point, { ...values, as: "mark", sign: signOf(row) })];
  const places = drawn.as === "line" ? drawn.line : closed(drawn.ring);
  const off = row.kind === "drain" && (row.row as Drain).working === false;
  const handles = chosen ? pointsOf(row).map((point, at) => pointFeature(point, { as: "handle", chosen: selection.at === at })) : [];
  return [lineFeature(places, { ...values, as: "line", symbol: symbolOf(row), bare: row.kind === "reading", off }), ...handles];
}

function signOf({ kind, row }: Built): SignName {
  const { kind: read } = row as unknown as Reading;
  if (kind === "reading") return read === "spring" || read === "seep" ? read : "standpipe";
  return kind === "outlet" ? "outlet" : "sump";
}

function symbolOf({ kind, row }: Built): LineName {
  if (kind === "reading") return (row as unknown as Reading).kind === "pond" ? "waterlining" : "ditch";
  return (row as unknown as Drain).slotted === false ? "drain_solid" : "drain";
}

/** An arrow in the middle of each piece with its fall, and the bottom of the pipe at each of its points. */
function fallFeatures({ places, bends, falls }: DrainLine, waterLine: number | null): Feature[] {
  const at = (station: number): { readonly point: SitePoint; readonly invert: number } | null => {
    const after = places.findIndex((place) => place.station >= station - 1e-6);
    return places[after] ?? places.at(-1) ?? null;
  };
  const arrows = falls.flatMap((fall, piece) => {
    const [from, to] = [bends[piece] ?? 0, bends[piece + 1] ?? 0];
    const [start, middle, end] = [at(from), at((from + to) / 2), at(to)];
    if (!start || !middle || !end) return [];
    const turn = Math.atan2(end.point[0] - start.point[0], end.point[1] - start.point[1]);
    return [pointFeature(middle.point, { as: "fall", turn: fall >= 0 ? turn : turn + Math.PI, long: to - from, words: percent(Math.abs(fall)) })];
  });
  const inverts = bends.flatMap((station) => {
    const place = at(station);
    return place ? [pointFeature(place.point, { as: "invert", words: shownValue(place.invert, "elevation", waterLine) })] : [];
  });
  return [...arrows, ...inverts];
}

function styleOf(feature: Looked, resolution: number, words: WordsOfPlan): Style[] {
  const as = feature.get("as");
  if (as === "handle") return [handle(feature.get("chosen") === true)];
  if (as === "fall") return fallStyle(feature, resolution);
  if (as === "invert") return resolution > INVERTS_FROM ? [] : [new Style({ text: new Text({ text: String(feature.get("words")), font: `12px ${FONT}`, offsetY: 14, fill: fill("mark-water"), stroke: halo(4) }) })];
  const chosen = feature.get("chosen") === true;
  if (as === "line") return lineStyles(String(feature.get("symbol")) as LineName, chosen, feature.get("off") === true, feature.get("bare") === true);
  if (resolution > SIGNS_TO && !chosen) return [];
  const mark = new Style({ image: sign(feature.get("sign") as SignName, chosen), zIndex: 4 });
  const side = words.at(resolution).sides.get(String(feature.get("key"))) ?? (chosen ? "right" : null);
  if (side) mark.setText(new Text({ ...setAt(side, WATER_GAP), text: String(feature.get("name")), font: `12px ${FONT}`, fill: fill("ink"), stroke: halo(4), declutterMode: "none" }));
  return [mark];
}

/** A drain that is switched off is drawn thin and grey: the ground is as if without it. */
function lineStyles(symbol: LineName, chosen: boolean, off: boolean, bare: boolean): Style[] {
  const under = chosen
    ? [new Style({ stroke: new Stroke({ color: colour("select"), width: 9 }) }), new Style({ stroke: new Stroke({ color: colour("paper"), width: 6 }) })]
    : bare
      ? []
      : [new Style({ stroke: new Stroke({ color: faded("paper", 0.85), width: 5 }) })];
  const drawn = off ? new Stroke({ color: colour("muted"), width: 1.25, lineDash: [3, 4] }) : pen(symbol);
  return [...under, new Style({ stroke: drawn })];
}

function fallStyle(feature: Looked, resolution: number): Style[] {
  if ((feature.get("long") as number) / resolution < 40) return [];
  const image = new RegularShape({ points: 3, radius: 8, rotation: feature.get("turn") as number, rotateWithView: true, fill: fill("mark-water"), stroke: new Stroke({ color: colour("paper"), width: 1.5 }), declutterMode: "none" });
  const style = new Style({ image, zIndex: 3 });
  if (resolution <= FALLS_FROM) style.setText(new Text({ text: String(feature.get("words")), font: `600 12px ${FONT}`, offsetY: -14, fill: fill("mark-water"), stroke: halo(4) }));
  return [style];
}

function handle(chosen: boolean): Style {
  const image = chosen
    ? new RegularShape({ points: 4, radius: 10, angle: Math.PI / 4, fill: fill("select"), stroke: new Stroke({ color: colour("paper"), width: 2 }), declutterMode: "none" })
    : new CircleStyle({ radius: 6, fill: fill("paper"), stroke: new Stroke({ color: colour("select"), width: 2.5 }), declutterMode: "none" });
  return new Style({ image, zIndex: 6 });
}
