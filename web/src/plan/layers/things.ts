/** What stands on site: trees as crowns, fences and pipes as lines, the rest as marks. */

import Feature from "ol/Feature";
import Circle from "ol/geom/Circle";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import type ImageStyle from "ol/style/Image";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Job, Thing } from "../../api/types";
import { FONT, type LineName, colour, faded, fill, halo, line, pen } from "../ink";
import type { SitePoint } from "../../geometry/types";
import { type Side, type WordsOfPlan, middleAlong, straightest } from "../labels";
import { drawnPlace } from "../places";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { sign } from "./signs";
import { closed, lineString } from "./vectors";
import { THING_GAP, setAt } from "./words";
import Point from "ol/geom/Point";

interface Looked {
  get(key: string): unknown;
  getGeometry(): unknown;
}

const LINES: Readonly<Record<string, LineName>> = { pipe: "service" };

export function thingsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorImageLayer({ source, style: (feature, resolution) => styleOf(feature as unknown as Looked, resolution, words), declutter: true, imageRatio: 1.3 });
  const stop = redraw(
    () => {
      const selection = desk.session.selection.value;
      return {
        job: desk.session.job.value,
        things: desk.session.shown.value?.site.things,
        chosen: selection?.kind === "thing" ? selection.id : null,
        on: desk.shown.layers.things.value,
        written: desk.words.value,
      };
    },
    ({ job, things, chosen, on, written }) => {
      words = written;
      source.clear(true);
      for (const [id, thing] of on && job ? Object.entries(things ?? {}) : []) source.addFeatures(featuresOf(job as Job, id, thing, id === chosen));
      layer.changed();
    },
  );
  return { layer, stop };
}

function featuresOf(job: Job, id: string, thing: Thing, chosen: boolean): Feature[] {
  const drawn = drawnPlace(job, thing.place);
  if (drawn === null) return [];
  const values = { key: `thing:${id}`, kind: thing.kind, name: thing.name || id, clear: thing.clear ?? 0, chosen };
  if (drawn.as !== "point") {
    // A service that runs along a line is drawn with its own kind, by the layer of services.
    if (thing.kind === "utility") return [];
    const places = drawn.as === "line" ? drawn.line : closed(drawn.ring);
    return [new Feature({ ...values, as: "line", geometry: lineString(places) })];
  }
  const mark = new Feature({ ...values, as: "mark", point: drawn.point, geometry: new Point([...drawn.point]) });
  const round = (radius: number, as: string): Feature => new Feature({ ...values, as, geometry: new Circle([...drawn.point], radius) });
  return [
    mark,
    ...(thing.size ? [round(thing.size / 2, thing.kind === "tree" ? "crown" : "size")] : []),
    ...(thing.clear ? [round(thing.clear + (thing.size ?? 0) / 2, "clear")] : []),
  ];
}

function styleOf(feature: Looked, resolution: number, words: WordsOfPlan): Style[] {
  const as = feature.get("as");
  const chosen = feature.get("chosen") === true;
  if (as === "crown") return [new Style({ stroke: pen("thing"), fill: fill("good", 0.1) })];
  if (as === "size") return [new Style({ stroke: pen("thing"), fill: fill("muted", 0.12) })];
  if (as === "clear") return [new Style({ stroke: new Stroke({ color: colour("look"), width: 1, lineDash: [2, 4] }) })];
  const side = words.at(resolution).sides.get(String(feature.get("key"))) ?? (chosen ? (as === "line" ? "on" : "below") : null);
  if (as === "line") return [...lineStyles(feature, resolution, chosen), ...(side ? [alongStyle(feature, side)] : [])];
  const mark = new Style({ image: markOf(String(feature.get("kind")), chosen) });
  if (side) mark.setText(name(feature, setAt(side, THING_GAP)));
  return [mark];
}

function lineStyles(feature: Looked, resolution: number, chosen: boolean): Style[] {
  const clear = Number(feature.get("clear"));
  const drawn = line(LINES[String(feature.get("kind"))] ?? "thing");
  return [
    ...(clear > 0 ? [new Style({ stroke: new Stroke({ color: faded("look", 0.18), width: (2 * clear) / resolution }) })] : []),
    ...(chosen ? [new Style({ stroke: new Stroke({ color: colour("select"), width: 8 }) }), new Style({ stroke: new Stroke({ color: colour("paper"), width: 5 }) })] : []),
    drawn,
  ];
}

/** Each kind has its own shape: a cross in a crown, a heap, a ring, a gap, a square. */
function markOf(kind: string, chosen: boolean): ImageStyle {
  const stroke = new Stroke({ color: colour(chosen ? "select" : "ink"), width: chosen ? 3 : 1.5 });
  const ink = { stroke, fill: fill("paper"), declutterMode: "none" } as const;
  if (kind === "tree") return new RegularShape({ points: 4, radius: 5, radius2: 0, ...ink });
  if (kind === "stone_pile") return sign("stones", chosen);
  if (kind === "well") return new CircleStyle({ radius: 5, ...ink });
  if (kind === "access") return new RegularShape({ points: 2, radius: 8, angle: Math.PI / 2, ...ink });
  return new RegularShape({ points: 4, radius: 6, angle: Math.PI / 4, ...ink });
}

/** Name of a fence or a pipe, along it. */
function alongStyle(feature: Looked, side: Side): Style {
  const line = (feature.getGeometry() as { getCoordinates(): number[][] }).getCoordinates().map(([east = 0, north = 0]): SitePoint => [east, north]);
  const { point, turn } = middleAlong(straightest(line));
  return new Style({ geometry: new Point([...point]), text: name(feature, setAt(side, 0, turn)) });
}

function name(feature: Looked, at: ReturnType<typeof setAt>): Text {
  return new Text({ ...at, text: String(feature.get("name")), font: `12px ${FONT}`, fill: fill("muted"), stroke: halo(), declutterMode: "none" });
}
