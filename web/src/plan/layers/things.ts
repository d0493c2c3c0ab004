/** What stands on site: trees as crowns, fences and pipes as lines, the rest as marks. */

import Feature from "ol/Feature";
import Circle from "ol/geom/Circle";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Job, Thing } from "../../api/types";
import { FONT, type LineName, colour, faded, fill, halo, line, pen } from "../ink";
import type { SitePoint } from "../../geometry/types";
import { type Taken, isFree, underBox } from "../labels";
import { drawnPlace } from "../places";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { standing } from "./obstacles";
import { closed, lineString } from "./vectors";
import Point from "ol/geom/Point";

const NAMES_FROM = 0.3; // metres for a pixel
const LINES: Readonly<Record<string, LineName>> = { pipe: "service" };

export function thingsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let taken: readonly Taken[] = [];
  const layer = new VectorImageLayer({ source, style: (feature, resolution) => styleOf(feature, resolution, taken), declutter: true, imageRatio: 1.3 });
  const stop = redraw(
    () => {
      const selection = desk.session.selection.value;
      return {
        job: desk.session.job.value,
        things: desk.session.shown.value?.site.things,
        chosen: selection?.kind === "thing" ? selection.id : null,
        on: desk.shown.layers.things.value,
        stands: JSON.stringify(standing(desk)),
      };
    },
    ({ job, things, chosen, on, stands }) => {
      taken = JSON.parse(stands) as Taken[];
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
  const values = { kind: thing.kind, name: thing.name || id, clear: thing.clear ?? 0, chosen };
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

function styleOf(feature: { get(key: string): unknown }, resolution: number, taken: readonly Taken[]): Style[] {
  const as = feature.get("as");
  const chosen = feature.get("chosen") === true;
  if (as === "crown") return [new Style({ stroke: pen("thing"), fill: fill("good", 0.1) })];
  if (as === "size") return [new Style({ stroke: pen("thing"), fill: fill("muted", 0.12) })];
  if (as === "clear") return [new Style({ stroke: new Stroke({ color: colour("look"), width: 1, lineDash: [2, 4] }) })];
  const text = resolution < NAMES_FROM || chosen ? name(feature, as === "line", roomAt(feature, resolution, taken)) : undefined;
  if (as === "line") return lineStyles(feature, resolution, chosen, text);
  const mark = new Style({ image: markOf(String(feature.get("kind")), chosen) });
  if (text) mark.setText(text);
  return [mark];
}

function lineStyles(feature: { get(key: string): unknown }, resolution: number, chosen: boolean, text: Text | undefined): Style[] {
  const clear = Number(feature.get("clear"));
  const drawn = line(LINES[String(feature.get("kind"))] ?? "thing");
  if (text) drawn.setText(text);
  return [
    ...(clear > 0 ? [new Style({ stroke: new Stroke({ color: faded("look", 0.18), width: (2 * clear) / resolution }) })] : []),
    ...(chosen ? [new Style({ stroke: new Stroke({ color: colour("select"), width: 8 }) }), new Style({ stroke: new Stroke({ color: colour("paper"), width: 5 }) })] : []),
    drawn,
  ];
}

/** Each kind has its own shape: a cross in a crown, a heap, a ring, a gap, a square. */
function markOf(kind: string, chosen: boolean): CircleStyle | RegularShape {
  const stroke = new Stroke({ color: colour(chosen ? "select" : "ink"), width: chosen ? 3 : 1.5 });
  const ink = { stroke, fill: fill("paper"), declutterMode: "none" } as const;
  if (kind === "tree") return new RegularShape({ points: 4, radius: 5, radius2: 0, ...ink });
  if (kind === "stone_pile") return new RegularShape({ points: 3, radius: 7, ...ink });
  if (kind === "well") return new CircleStyle({ radius: 5, ...ink });
  if (kind === "access") return new RegularShape({ points: 2, radius: 8, angle: Math.PI / 2, ...ink });
  return new RegularShape({ points: 4, radius: 6, angle: Math.PI / 4, ...ink });
}

/** Side of a mark that has room for its name; below where neither has. */
function roomAt(feature: { get(key: string): unknown }, resolution: number, taken: readonly Taken[]): "below" | "above" {
  const point = feature.get("point") as SitePoint | undefined;
  const words = String(feature.get("name"));
  const isTaken = point !== undefined && !isFree(point, underBox(words, "below"), taken, resolution);
  return isTaken && isFree(point, underBox(words, "above"), taken, resolution) ? "above" : "below";
}

function name(feature: { get(key: string): unknown }, along: boolean, side: "below" | "above"): Text {
  const text = new Text({ text: String(feature.get("name")), font: `12px ${FONT}`, fill: fill("muted"), stroke: halo() });
  if (along) {
    text.setPlacement("line");
    text.setTextBaseline("bottom");
    text.setOffsetY(-3);
  } else text.setOffsetY(side === "below" ? 13 : -13);
  return text;
}
