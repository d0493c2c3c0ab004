/** Streams: their water reach by reach as the server gives it, and the falls as bars with their drop. */

import type Feature from "ol/Feature";
import Point from "ol/geom/Point";
import Polygon from "ol/geom/Polygon";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Job } from "../../api/types";
import { shown } from "../../format/shown";
import type { SitePoint } from "../../geometry/types";
import { heights, units } from "../../state/settings";
import { FONT, colour, fill, halo, kept, line, pen } from "../ink";
import { type WordsOfPlan, isFree, onBox } from "../labels";
import { reachesOf, sidesOf } from "../reaches";
import { redraw } from "../redraw";
import { say } from "../say";
import { barOf, fallsOf, streamsOf } from "../streams";
import { type Desk, type PlanLayer, jobOf } from "./layer";
import { lineFeature, plain, pointFeature, polygonFeature } from "./vectors";
import { FALL_GAP, setAt } from "./words";

const WORDS_FROM = 0.12; // metres for a pixel
const TEETH_PX = 7;

interface Looked {
  get(key: string): unknown;
  getGeometry(): unknown;
}

export function streamsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorLayer({ source, style: (feature, resolution) => styleOf(feature as unknown as Looked, resolution, words) });
  desk.session.want("streams", true, "plan");
  const stop = redraw(
    () => ({
      job: jobOf(desk),
      points: desk.fields.of("streams_points").value,
      starts: desk.fields.of("streams_starts").value,
      levels: desk.fields.of("streams_levels").value,
      selection: desk.session.selection.value,
      ground: desk.shown.ground.value,
      waterLine: desk.session.waterLine.value,
      units: units.value,
      heights: heights.value,
      written: desk.words.value,
    }),
    ({ job, points, starts, levels, selection, ground, waterLine, written }) => {
      words = written;
      source.clear(true);
      const there = job?.shape.bodies ?? {};
      const reaches = points && starts && levels ? reachesOf(points, starts, levels).filter(({ body }) => there[body]?.outline.form === "corridor") : [];
      for (const { ring, level } of reaches) {
        source.addFeature(polygonFeature([ring], { as: ground === "plain" || ground === "known" ? "water" : "bank" }));
        for (const side of sidesOf(ring)) source.addFeature(lineFeature(side, { as: "side" }));
        const middle = middleOf(ring);
        if (middle) source.addFeature(pointFeature(middle, { as: "level", point: middle, words: shown(level, "elevation", waterLine) }));
      }
      source.addFeatures(job ? fallFeatures(job, selection?.kind === "fall" ? selection.id : "") : []);
      layer.changed();
    },
  );
  return {
    layer,
    stop: () => {
      stop();
      desk.session.want("streams", false, "plan");
    },
  };
}

function middleOf(ring: readonly SitePoint[]): SitePoint | null {
  const [left, right] = sidesOf(ring);
  const at = Math.floor(left.length / 2);
  const [one, other] = [left[at], right[at]];
  return one && other ? [(one[0] + other[0]) / 2, (one[1] + other[1]) / 2] : null;
}

function fallFeatures(job: Job, chosen: string): Feature[] {
  return streamsOf(job).flatMap((stream) =>
    fallsOf(stream).map((fall) =>
      lineFeature(barOf(fall, 0.15), {
        as: "fall",
        key: `fall:${fall.body}-${fall.at + 1}`,
        point: fall.point,
        along: fall.along,
        chosen: chosen === `${fall.body}-${fall.at + 1}`,
        words: say("plan.fall.drop", { drop: shown(fall.drop, "length") }),
      }),
    ),
  );
}

const water = kept(() => new Style({ fill: fill("water", 0.3) }));
const bank = kept(() => new Style({ fill: fill("water", 0.12) }));
const side = kept(() => line("stream_bank"));

function styleOf(feature: Looked, resolution: number, all: WordsOfPlan): Style | Style[] {
  const as = feature.get("as");
  if (as === "water") return water();
  if (as === "bank") return bank();
  if (as === "side") return side();
  const words = String(feature.get("words"));
  if (as === "level") return resolution > WORDS_FROM || !isFree(feature.get("point") as SitePoint, onBox(words), all.at(resolution).taken, resolution) ? [] : new Style({ text: new Text({ text: words, font: `600 12px ${FONT}`, fill: fill("shore"), stroke: halo(4) }) });
  return fallStyles(feature, resolution, words, all);
}

/** A bar with teeth on the side to which the water falls. */
function fallStyles(feature: Looked, resolution: number, words: string, all: WordsOfPlan): Style[] {
  const bar = (feature.getGeometry() as { getCoordinates(): number[][] }).getCoordinates();
  const [from, to] = [bar[0] as [number, number], bar[1] as [number, number]];
  const [east, north] = feature.get("along") as SitePoint;
  const tooth = TEETH_PX * resolution;
  const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const count = Math.max(2, Math.round(long / (1.6 * tooth)));
  const teeth = Array.from({ length: count }, (_, at): SitePoint[] => {
    const mix = (share: number): SitePoint => [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
    const [a, b, c] = [mix(at / count), mix((at + 1) / count), mix((at + 0.5) / count)];
    return [a, b, [c[0] + east * tooth, c[1] + north * tooth]];
  });
  const chosen = feature.get("chosen") === true;
  const comb = teeth.map((ring) => new Style({ geometry: new Polygon([plain([...ring, ring[0] as SitePoint])]), fill: fill(chosen ? "select" : "shore") }));
  const place = all.at(resolution).sides.get(String(feature.get("key"))) ?? (chosen ? "right" : null);
  const label = place && new Style({ geometry: new Point([...(feature.get("point") as SitePoint)]), text: new Text({ ...setAt(place, FALL_GAP), text: words, font: `600 12px ${FONT}`, fill: fill("ink"), stroke: halo(4) }) });
  const halos = chosen ? [new Style({ stroke: new Stroke({ color: colour("select"), width: 9 }) }), new Style({ stroke: new Stroke({ color: colour("paper"), width: 6 }) })] : [];
  return [...halos, ...comb, new Style({ stroke: pen("fall") }), ...(label ? [label] : [])];
}
