/** The liner on the plan: where it ends, its pieces and seams as they are ordered; low places of its edge, and liner that would be seen. */

import type Feature from "ol/Feature";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import { shown as shownValue } from "../../format/shown";
import type { SitePoint } from "../../geometry/types";
import { units } from "../../state/settings";
import { FONT, colour, faded, fill, halo, inkOf, pen } from "../ink";
import { type BandPlace, type LinerShown, type PieceShown, type RimTold, linersShownOf, rimsOf } from "../lining-fields";
import { redraw } from "../redraw";
import { say } from "../say";
import { newestTold } from "../water-fields";
import type { Desk, PlanLayer } from "./layer";
import { closed, lineFeature, pointFeature } from "./vectors";

const NAMES_FROM = 0.25; // metres for a pixel
const NAME_ROOM = 70; // pixels along a piece that its words need
const BARE = 0.005; // metres of bare liner that are worth a line
const SEAM_WIDTH = 5; // pixels from side to side of the double line

interface Looked {
  get(key: string): unknown;
}

export function linerLayer({ session, shown }: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: (feature, resolution) => linerStyle(feature as unknown as Looked, resolution), declutter: true });
  const read = newestTold(linersShownOf);
  const stop = redraw(
    () => ({ liners: read(session.frame.value), on: shown.layers.liner.value, unit: units.value }),
    ({ liners, on }) => {
      source.clear(true);
      for (const liner of on ? (liners ?? []) : []) source.addFeatures(featuresOf(liner));
      layer.changed();
    },
  );
  return { layer, stop };
}

function featuresOf({ ends, pieces, seams }: LinerShown): Feature[] {
  return [
    ...ends.map((line) => lineFeature(line, { as: "end" })),
    ...pieces.map(({ corners }) => lineFeature(closed(corners), { as: "piece" })),
    ...seams.map((line) => lineFeature(line, { as: "seam" })),
    ...pieces.flatMap((piece) => nameOfPiece(piece, pieces.length === 1)),
  ];
}

/** Words of a piece, its name, how long and how wide: a strip has them along its middle, a piece alone on its long side, clear of the water. */
function nameOfPiece({ corners, name, length, width }: PieceShown, alone: boolean): Feature[] {
  const [a, b, c, d] = corners;
  if (!a || !b || !c || !d) return [];
  const over = alone ? b : c;
  const middle: SitePoint = [(a[0] + over[0]) / 2, (a[1] + over[1]) / 2];
  const turn = Math.atan2(b[1] - a[1], b[0] - a[0]);
  const readable = turn > Math.PI / 2 ? turn - Math.PI : turn <= -Math.PI / 2 ? turn + Math.PI : turn;
  const size = say("liner.byPiece", { length: shownValue(length, "length"), width: shownValue(width, "length") });
  return [pointFeature(middle, { as: "name", words: name ? `${name}  ${size}` : size, short: name, turn: readable, long: Math.hypot(b[0] - a[0], b[1] - a[1]) })];
}

function linerStyle(feature: Looked, resolution: number): Style[] {
  const as = feature.get("as");
  if (as === "seam") return seamStyles();
  if (as === "name") return nameStyle(feature, resolution);
  const drawn = pen(as === "end" ? "liner" : "liner_piece");
  return [new Style({ stroke: new Stroke({ color: faded("paper", 0.8), width: (drawn.getWidth() ?? 1) + 3 }) }), new Style({ stroke: drawn })];
}

/** Two thin lines: the liner lies over itself between them. */
function seamStyles(): Style[] {
  return [
    new Style({ stroke: new Stroke({ color: inkOf("liner_seam"), width: SEAM_WIDTH, lineCap: "butt" }) }),
    new Style({ stroke: new Stroke({ color: colour("paper"), width: SEAM_WIDTH - 2.4, lineCap: "butt" }) }),
  ];
}

function nameStyle(feature: Looked, resolution: number): Style[] {
  if (resolution > NAMES_FROM) return [];
  const whole = String(feature.get("words"));
  const room = (feature.get("long") as number) / resolution;
  const words = room > NAME_ROOM + 6.5 * whole.length ? whole : String(feature.get("short"));
  if (words === "") return [];
  return [new Style({ text: new Text({ text: words, font: `600 13px ${FONT}`, rotation: -(feature.get("turn") as number), rotateWithView: true, fill: fill("ink"), stroke: halo(4) }) })];
}

// The edge.

export function rimLayer({ session, shown }: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: rimStyle as (feature: unknown, resolution: number) => Style[], declutter: true });
  const read = newestTold(rimsOf);
  const stop = redraw(
    () => ({ rims: read(session.frame.value), on: shown.layers.edge.value, unit: units.value }),
    ({ rims, on }) => {
      source.clear(true);
      for (const rim of on ? (rims ?? []) : []) source.addFeatures(rimFeatures(rim));
      layer.changed();
    },
  );
  return { layer, stop };
}

function rimFeatures({ lows, band }: RimTold): Feature[] {
  const drawn = (as: "band" | "seen", where: (place: BandPlace) => boolean): Feature[] => runsWhere(band, where).map((line) => lineFeature(line, { as }));
  return [
    ...drawn("band", ({ bare }) => bare > BARE),
    ...drawn("seen", ({ bare, seen }) => seen && bare > BARE),
    ...lows.map(({ point, lack }) => pointFeature(point, { as: "low", words: say("liner.lowShort", { lack: shownValue(lack, "length") }) })),
  ];
}

/** Stretches of a closed shore along which something is so; one that runs over its first place is one. */
export function runsWhere(places: readonly BandPlace[], where: (place: BandPlace) => boolean): SitePoint[][] {
  const first = places.findIndex((place) => !where(place));
  if (first < 0) return places.length > 1 ? [[...places, places[0] as BandPlace].map(({ point }) => point)] : [];
  const runs: SitePoint[][] = [];
  let open: SitePoint[] | null = null;
  for (const place of [...places.slice(first), ...places.slice(0, first)]) {
    if (!where(place)) open = null;
    else if (open) open.push(place.point);
    else runs.push((open = [place.point]));
  }
  return runs.filter((run) => run.length > 1);
}

function rimStyle(feature: Looked, resolution: number): Style[] {
  const as = feature.get("as");
  if (as === "band") return [new Style({ stroke: pen("liner_band") })];
  if (as === "seen") {
    return [new Style({ stroke: new Stroke({ color: faded("paper", 0.85), width: 9 }) }), new Style({ stroke: pen("liner_seen") })];
  }
  // Points down: there the water would get over it.
  const image = new RegularShape({ points: 3, radius: 11, rotation: Math.PI, fill: fill("stop"), stroke: new Stroke({ color: colour("paper"), width: 2 }), declutterMode: "none" });
  const style = new Style({ image, zIndex: 5 });
  if (resolution <= NAMES_FROM) style.setText(new Text({ text: String(feature.get("words")), font: `600 12px ${FONT}`, offsetY: -18, fill: fill("stop"), stroke: halo(4) }));
  return [style];
}
