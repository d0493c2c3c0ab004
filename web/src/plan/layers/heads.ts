/** How high the groundwater stands, where it goes, and the route that was found for a drain. */

import type Feature from "ol/Feature";
import LineString from "ol/geom/LineString";
import Point from "ol/geom/Point";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import { shown as shownValue } from "../../format/shown";
import type { SitePoint } from "../../geometry/types";
import { heights, units } from "../../state/settings";
import { type Kept, contoursOf } from "../fields";
import { FONT, colour, faded, fill, halo, inkOf, line, pen } from "../ink";
import { redraw } from "../redraw";
import { type RouteFound, newestTold, routesOf } from "../water-fields";
import type { Desk, PlanLayer } from "./layer";
import { lineFeature, pointFeature } from "./vectors";

const SHORTEST = 7; // pixels of an arrow
const LONGEST = 26;
const NONE: readonly RouteFound[] = [];

interface Looked {
  get(key: string): unknown;
}

export function headsLayer({ fields, session, shown }: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: headStyle as (feature: unknown) => Style[], declutter: true });
  const stop = redraw(
    () => ({
      points: fields.of("heads_points").value,
      starts: fields.of("heads_starts").value,
      levels: fields.of("heads_levels").value,
      on: shown.layers.heads.value,
      waterLine: heights.value === "water" ? session.waterLine.value : null,
      unit: units.value,
    }),
    ({ points, starts, levels, on, waterLine }) => {
      source.clear(true);
      const contours = on && points && starts && levels ? contoursOf(points, starts, levels) : [];
      source.addFeatures(contours.map(({ level, line: places, isIndex }) => lineFeature(places, { index: isIndex, height: shownValue(level, "elevation", waterLine) })));
      layer.changed();
    },
  );
  return { layer, stop };
}

/** Every line has its height: they are few, and the one that is looked for is rarely an index line. */
function headStyle(feature: Looked): Style[] {
  const style = line(feature.get("index") === true ? "groundwater_index" : "groundwater");
  style.setText(new Text({ text: String(feature.get("height")), font: `600 12px ${FONT}`, placement: "line", fill: fill("mark-water"), stroke: halo(4), repeat: 400, maxAngle: Math.PI / 5 }));
  return [new Style({ stroke: new Stroke({ color: faded("paper", 0.7), width: 4 }) }), style];
}

export function flowLayer({ fields, shown }: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: (feature, resolution) => flowStyle(feature as unknown as Looked, resolution) });
  const stop = redraw(
    () => ({ flow: fields.of("flow").value, on: shown.layers.flow.value }),
    ({ flow, on }) => {
      source.clear(true);
      if (on && flow) source.addFeatures(flowFeatures(flow));
      layer.changed();
    },
  );
  return { layer, stop };
}

function flowFeatures({ field }: Kept): Feature[] {
  const rows = Array.from({ length: field.shape[0] ?? 0 }, (_, at) => Array.from(field.data.subarray(4 * at, 4 * at + 4)) as [number, number, number, number]);
  const most = Math.max(...rows.map(([, , east, north]) => Math.hypot(east, north)), 1e-12);
  return rows.flatMap(([east, north, flowEast, flowNorth]) => {
    const flow = Math.hypot(flowEast, flowNorth);
    // Flows span many powers of ten: the root keeps the small ones seen.
    const share = Math.sqrt(flow / most);
    return share < 0.02 ? [] : [pointFeature([east, north], { length: SHORTEST + (LONGEST - SHORTEST) * share, turn: Math.atan2(flowEast, flowNorth) })];
  });
}

function flowStyle(feature: Looked, resolution: number): Style[] {
  const [length, turn] = [feature.get("length") as number, feature.get("turn") as number];
  const geometry = (feature as unknown as { getGeometry(): { getCoordinates(): number[] } }).getGeometry();
  const [east = 0, north = 0] = geometry.getCoordinates();
  const half = (length / 2) * resolution;
  const [across, up] = [Math.sin(turn) * half, Math.cos(turn) * half];
  const shaft = new LineString([[east - across, north - up], [east + across, north + up]]);
  const image = new RegularShape({ points: 3, radius: 4.5, rotation: turn, rotateWithView: true, fill: fill("mark-water") });
  return [
    new Style({ geometry: shaft, stroke: new Stroke({ color: faded("paper", 0.8), width: 3.5 }) }),
    new Style({ geometry: shaft, stroke: new Stroke({ color: colour("mark-water"), width: 1.5 }) }),
    new Style({ geometry: new Point([east + across, north + up]), image }),
  ];
}

export function routeLayer({ session, shown }: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: routeStyle as (feature: unknown) => Style[], declutter: true });
  const read = newestTold(routesOf);
  const stop = redraw(
    () => {
      return { routes: read(session.frame.value)?.routes ?? NONE, on: shown.layers.route.value, waterLine: heights.value === "water" ? session.waterLine.value : null, unit: units.value };
    },
    ({ routes, on, waterLine }) => {
      source.clear(true);
      for (const { points, inverts } of on ? routes : []) {
        source.addFeature(lineFeature(points));
        source.addFeatures([0, points.length - 1].map((at) => pointFeature(points[at] as SitePoint, { words: shownValue(inverts[at], "elevation", waterLine) })));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

function routeStyle(feature: Looked): Style[] {
  const words = feature.get("words");
  if (words === undefined) return [new Style({ stroke: new Stroke({ color: faded("paper", 0.85), width: 5 }) }), new Style({ stroke: pen("drain_route") })];
  return [new Style({ text: new Text({ text: String(words), font: `12px ${FONT}`, offsetY: -12, fill: fill("mark-water"), stroke: halo(4) }), image: new RegularShape({ points: 4, radius: 5, angle: Math.PI / 4, fill: fill("paper"), stroke: new Stroke({ color: inkOf("drain_route"), width: 1.5 }) }) })];
}
