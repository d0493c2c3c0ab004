/** What was surveyed: shots with what they say, breaklines, the edge of the survey and holes in it. */

import type Feature from "ol/Feature";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Job } from "../../api/types";
import { shown as shownValue } from "../../format/shown";
import { heights, units } from "../../state/settings";
import { FONT, fill, halo, kept, line } from "../ink";
import { shotPoint, surveyLinePoints } from "../places";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { lineFeature, pointFeature } from "./vectors";

const HEIGHTS_FROM = 0.06; // metres for a pixel
const CODES_FROM = 0.03;
const DOTS_FROM = 1.0;

const mark = kept(() => new CircleStyle({ radius: 2, fill: fill("ink"), declutterMode: "none" }));
const dots = kept(() => new Style({ image: mark() }));

export function shotsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorImageLayer({ source, style: shotStyle, declutter: true, imageRatio: 1.3 });
  const stop = redraw(
    () => {
      const waterLine = heights.value === "water" ? desk.session.waterLine.value : null;
      const selection = desk.session.selection.value;
      return { shots: desk.session.shown.value?.site.shots, chosen: selection?.kind === "shot" ? selection.id : null, unit: units.value, waterLine, on: desk.shown.layers.shots.value };
    },
    ({ shots, chosen, waterLine, on }) => {
      source.clear(true);
      source.addFeatures(on ? shotFeatures(shots ?? {}, chosen, waterLine) : []);
      layer.changed();
    },
  );
  return { layer, stop };
}

export function surveyLinesLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorImageLayer({
    source,
    style: (feature) => line(feature.get("kind") === "break" ? "breakline" : "survey_limit"),
    imageRatio: 1.3,
  });
  const stop = redraw(
    () => {
      const site = desk.session.shown.value?.site;
      return { job: desk.session.job.value, lines: site?.lines, shots: site?.shots, on: desk.shown.layers.lines.value };
    },
    ({ job, lines, on }) => {
      source.clear(true);
      for (const row of on && job ? Object.values(lines ?? {}) : []) {
        source.addFeature(lineFeature(surveyLinePoints(job as Job, row), { kind: row.kind }));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

function shotFeatures(shots: NonNullable<Job["site"]["shots"]>, chosen: string | null, waterLine: number | null): Feature[] {
  return Object.entries(shots).flatMap(([id, shot]) => {
    const point = shotPoint(shot);
    if (point === null) return [];
    const height = shot.elevation === null || shot.elevation === undefined ? "" : shownValue(shot.elevation, "elevation", waterLine);
    return [pointFeature(point, { id, height, code: shot.code || id, chosen: id === chosen })];
  });
}

function shotStyle(feature: { get(key: string): unknown }, resolution: number): Style[] {
  if (resolution > DOTS_FROM && feature.get("chosen") !== true) return [];
  const dot = new Style({ image: mark() });
  const words = [resolution < HEIGHTS_FROM ? feature.get("height") : "", resolution < CODES_FROM ? feature.get("code") : ""];
  const text = words.filter(Boolean).join("\n");
  if (!text && feature.get("chosen") !== true) return [dots()];
  if (text) {
    dot.setText(new Text({ text, font: `11px ${FONT}`, offsetX: 5, textAlign: "left", fill: fill("muted"), stroke: halo() }));
  }
  if (feature.get("chosen") !== true) return [dot];
  const square = (radius: number, token: string): RegularShape =>
    new RegularShape({ points: 4, radius, angle: Math.PI / 4, fill: fill(token), declutterMode: "none" });
  return [new Style({ image: square(12, "paper") }), new Style({ image: square(9, "select") }), dot];
}
