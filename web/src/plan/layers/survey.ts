/** What was surveyed: shots and known points with what they say, breaklines, the edge of the survey, holes in it, paint. */

import type Feature from "ol/Feature";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Job } from "../../api/types";
import { shown as shownValue } from "../../format/shown";
import { heights, units } from "../../state/settings";
import type { SitePoint } from "../../geometry/types";
import { FONT, colour, faded, fill, halo, kept, line } from "../ink";
import { type Taken, type WordsOfPlan, besideBox, isFree } from "../labels";
import { drawnJob, drawnShots } from "../located";
import { drawnPlace, shotPoint, surveyLinePoints } from "../places";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { closed, lineFeature, pointFeature } from "./vectors";

// The same empty map each time, so that nothing is drawn anew for it.
const NONE: NonNullable<Job["site"]["shots"]> = {};

const HEIGHTS_FROM = 0.06; // metres for a pixel
const CODES_FROM = 0.03;
const DOTS_FROM = 1.0;

const mark = kept(() => new CircleStyle({ radius: 2, fill: fill("ink"), declutterMode: "none" }));
const benchmark = kept(() => new RegularShape({ points: 3, radius: 7, fill: fill("paper"), stroke: new Stroke({ color: colour("ink"), width: 1.5 }), declutterMode: "none" }));
const dots = kept(() => new Style({ image: mark() }));

export function shotsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorImageLayer({ source, style: (feature, resolution) => styleOf(feature as Feature, resolution, words.at(resolution).taken), declutter: true, imageRatio: 1.3 });
  const stop = redraw(
    () => {
      const waterLine = heights.value === "water" ? desk.session.waterLine.value : null;
      const selection = desk.session.selection.value;
      const site = desk.session.shown.value?.site;
      return {
        shots: drawnShots(site?.shots ?? NONE), marks: site?.marks, chosen: selection?.kind === "shot" ? selection.id : null,
        unit: units.value, waterLine, on: desk.shown.layers.shots.value, written: desk.words.value,
      };
    },
    ({ shots, marks, chosen, waterLine, on, written }) => {
      words = written;
      source.clear(true);
      source.addFeatures(on ? [...shotFeatures(shots, chosen, waterLine), ...markFeatures(marks ?? {}, waterLine)] : []);
      layer.changed();
    },
  );
  return { layer, stop };
}

export function surveyLinesLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorImageLayer({
    source,
    style: lineStyle,
    imageRatio: 1.3,
  });
  const stop = redraw(
    () => {
      const site = desk.session.shown.value?.site;
      return { job: desk.session.job.value, lines: site?.lines, shots: drawnShots(site?.shots ?? NONE), surveys: site?.surveys, on: desk.shown.layers.lines.value };
    },
    ({ job, lines, surveys, on }) => {
      source.clear(true);
      for (const row of on && job ? Object.values(lines ?? {}) : []) {
        source.addFeature(lineFeature(surveyLinePoints(drawnJob(job as Job), row), { kind: row.kind }));
      }
      for (const [id, survey] of on && job ? Object.entries(surveys ?? {}) : []) {
        const ring = survey.place ? drawnPlace(job as Job, survey.place) : null;
        if (ring?.as === "ring") source.addFeature(lineFeature(closed(ring.ring), { kind: "survey", name: survey.name || id }));
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
    return [pointFeature(point, { id, point, height, code: shot.code || id, chosen: id === chosen })];
  });
}

function markFeatures(marks: NonNullable<Job["site"]["marks"]>, waterLine: number | null): Feature[] {
  return Object.entries(marks).flatMap(([id, { place, name, elevation }]) => {
    if (!place) return [];
    const height = elevation === null || elevation === undefined ? "" : shownValue(elevation, "elevation", waterLine);
    return [pointFeature([place.east, place.north], { as: "mark", point: [place.east, place.north], height, code: name || id })];
  });
}

function lineStyle(feature: { get(key: string): unknown }): Style[] {
  const kind = feature.get("kind");
  // Paint on the grass is a broad dashed line: it is no ground, and nothing of the design.
  if (kind === "paint") return [new Style({ stroke: new Stroke({ color: faded("select", 0.55), width: 4, lineDash: [10, 6] }) })];
  const drawn = line(kind === "break" ? "breakline" : "survey_limit");
  if (kind === "survey") {
    drawn.setText(new Text({ text: String(feature.get("name")), font: `12px ${FONT}`, placement: "line", textBaseline: "bottom", offsetY: -3, fill: fill("muted"), stroke: halo() }));
  }
  return [drawn];
}

function styleOf(feature: Feature, resolution: number, taken: readonly Taken[]): Style[] {
  const chosen = feature.get("chosen") === true;
  const isMark = feature.get("as") === "mark";
  if (resolution > DOTS_FROM && !chosen) return [];
  const words = [resolution < HEIGHTS_FROM ? feature.get("height") : "", resolution < CODES_FROM || (isMark && resolution < HEIGHTS_FROM) ? feature.get("code") : ""].filter(Boolean) as string[];
  const text = words.length > 0 ? wordsOf(feature, words, resolution, taken) : null;
  const image = isMark ? benchmark() : mark();
  if (text === null && !chosen) return [isMark ? new Style({ image }) : dots()];
  const dot = new Style({ image });
  if (text !== null) dot.setText(text);
  if (!chosen) return [dot];
  const square = (radius: number, token: string): RegularShape =>
    new RegularShape({ points: 4, radius, angle: Math.PI / 4, fill: fill(token), declutterMode: "none" });
  return [new Style({ image: square(12, "paper") }), new Style({ image: square(9, "select") }), dot];
}

/** Words beside a shot, on the side where there is room for them; none where there is none. */
function wordsOf(feature: Feature, words: readonly string[], resolution: number, taken: readonly Taken[]): Text | null {
  const point = feature.get("point") as SitePoint;
  const side = (["right", "left"] as const).find((one) => isFree(point, besideBox(words, one), taken, resolution));
  if (side === undefined && feature.get("chosen") !== true) return null;
  return new Text({ text: words.join("\n"), font: `11px ${FONT}`, offsetX: side === "left" ? -5 : 5, textAlign: side === "left" ? "right" : "left", fill: fill("muted"), stroke: halo() });
}
