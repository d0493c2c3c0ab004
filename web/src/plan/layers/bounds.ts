/** Lines not to cross, and buried services: each kind with a dash of its own, so that grey still tells them apart. */

import Feature from "ol/Feature";
import Circle from "ol/geom/Circle";
import type LineString from "ol/geom/LineString";
import Point from "ol/geom/Point";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import Fill from "ol/style/Fill";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Bound, BoundKind, Job, Service, Thing } from "../../api/types";
import { FONT, type LineName, colour, faded, fill, halo, inkOf, letterOf, line, pen } from "../ink";
import { servicesOf } from "../line-kinds";
import { straightest } from "../labels";
import { drawnPlace } from "../places";
import { redraw } from "../redraw";
import { say } from "../say";
import type { Desk, PlanLayer } from "./layer";
import { closed, lineString } from "./vectors";

const NAMES_FROM = 0.3; // metres for a pixel
const LETTER_EVERY = 90; // pixels

export function boundsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorImageLayer({ source, style: boundStyle, declutter: true, imageRatio: 1.3 });
  const stop = redraw(
    () => {
      const on = desk.shown.layers.bounds.value;
      return { job: desk.session.job.value, bounds: desk.session.shown.value?.site.bounds, on };
    },
    ({ job, bounds, on }) => {
      source.clear(true);
      for (const bound of on && job ? Object.values(bounds ?? {}) : []) source.addFeatures(boundFeatures(job as Job, bound));
      layer.changed();
    },
  );
  return { layer, stop };
}

export function servicesLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorImageLayer({ source, style: serviceStyle, declutter: true, imageRatio: 1.3 });
  const stop = redraw(
    () => {
      const selection = desk.session.selection.value;
      const chosen = selection?.kind === "thing" ? selection.id : null;
      return { job: desk.session.job.value, things: desk.session.shown.value?.site.things, chosen, on: desk.shown.layers.services.value };
    },
    ({ job, chosen, on }) => {
      source.clear(true);
      for (const [id, thing] of on && job ? servicesOf(job) : []) source.addFeatures(serviceFeatures(job as Job, thing, id === chosen));
      layer.changed();
    },
  );
  return { layer, stop };
}

function boundFeatures(job: Job, bound: Bound): Feature[] {
  const drawn = drawnPlace(job, bound.place);
  if (drawn === null) return [];
  const values = { kind: bound.kind, name: bound.name || say(`plan.bound.${bound.kind}`), clear: bound.clear ?? 0 };
  if (drawn.as === "point") {
    const around = bound.clear ? [new Feature({ ...values, as: "clear", geometry: new Circle([...drawn.point], bound.clear) })] : [];
    return [new Feature({ ...values, as: "mark", geometry: new Point([...drawn.point]) }), ...around];
  }
  const places = drawn.as === "line" ? drawn.line : closed(drawn.ring);
  return [new Feature({ ...values, as: "line", straight: lineString(straightest(places)), geometry: lineString(places) })];
}

function serviceFeatures(job: Job, thing: Thing, chosen: boolean): Feature[] {
  const drawn = drawnPlace(job, thing.place);
  if (drawn === null || drawn.as === "point") return [];
  const service = thing.service ?? null;
  const values = { service, name: thing.name || say(`plan.service.${service ?? "other"}`), clear: thing.clear ?? 0, sure: thing.sure ?? 0, chosen };
  return [new Feature({ ...values, geometry: lineString(drawn.as === "line" ? drawn.line : closed(drawn.ring)) })];
}

/** Symbol of a kind of line not to cross. */
export function boundSymbol(kind: BoundKind): LineName {
  return kind === "other" ? "not_to_cross" : kind;
}

/** Symbol of what a service carries; null while nobody said. */
export function serviceSymbol(service: Service | null): LineName {
  return service === null ? "service" : `service_${service}`;
}

function boundStyle(feature: { get(key: string): unknown }, resolution: number): Style[] {
  const symbol = boundSymbol(feature.get("kind") as BoundKind);
  const as = feature.get("as");
  // The ring to keep clear is thin: it is no line that anybody will find on the ground.
  if (as === "clear") return [new Style({ stroke: new Stroke({ color: inkOf(symbol), width: 1, lineDash: [3, 4] }) })];
  if (as === "mark") {
    const image = new CircleStyle({ radius: 5, stroke: new Stroke({ color: inkOf(symbol), width: 2 }), fill: fill("paper"), declutterMode: "none" });
    const mark = new Style({ image });
    if (resolution < NAMES_FROM) mark.setText(named(feature, false, symbol));
    return [mark];
  }
  const words = resolution < NAMES_FROM ? [new Style({ geometry: feature.get("straight") as LineString, text: named(feature, true, symbol) })] : [];
  return [...band(Number(feature.get("clear")), "stop", resolution), line(symbol), ...words];
}

function serviceStyle(feature: { get(key: string): unknown }, resolution: number): Style[] {
  const symbol = serviceSymbol(feature.get("service") as Service | null);
  const chosen = feature.get("chosen") === true;
  const letter = new Text({
    text: letterOf(symbol),
    font: `700 12px ${FONT}`,
    placement: "line",
    repeat: LETTER_EVERY,
    fill: fill("ink"),
    stroke: halo(4),
  });
  const drawn = new Style({ stroke: pen(symbol), text: letter });
  const words = resolution < NAMES_FROM / 2 ? [new Style({ text: named(feature, true, symbol) })] : [];
  return [
    ...band(Number(feature.get("sure")), "muted", resolution),
    ...band(Number(feature.get("clear")), "look", resolution),
    ...(chosen ? [new Style({ stroke: new Stroke({ color: colour("select"), width: 8 }) }), new Style({ stroke: new Stroke({ color: colour("paper"), width: 5 }) })] : []),
    drawn,
    ...words,
  ];
}

/** A faint band on both sides of a line. */
function band(away: number, token: string, resolution: number): Style[] {
  return away > 0 ? [new Style({ stroke: new Stroke({ color: faded(token, 0.14), width: (2 * away) / resolution, lineCap: "round" }) })] : [];
}

function named(feature: { get(key: string): unknown }, along: boolean, symbol: LineName): Text {
  const text = new Text({ text: String(feature.get("name")), font: `600 12px ${FONT}`, fill: new Fill({ color: inkOf(symbol) }), stroke: halo(4) });
  if (along) {
    text.setPlacement("line");
    text.setTextBaseline("bottom");
    text.setOffsetY(-4);
    text.setRepeat(700);
    text.setMaxAngle(Math.PI / 6);
  } else text.setOffsetY(14);
  return text;
}
