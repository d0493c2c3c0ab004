/** The shore drawn thicker where a way reaches it; where each water runs over; walls where banks meet. */

import type Feature from "ol/Feature";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import type { SitePoint } from "../../geometry/types";
import { type Kept, linesOf } from "../fields";
import { faded, fill, inkOf, line, pen } from "../ink";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { lineFeature, pointFeature } from "./vectors";

export function reachLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: () => new Style({ stroke: new Stroke({ color: faded("good", 0.6), width: pen("reached").getWidth() ?? 7, lineCap: "butt" }) }) });
  const { of } = desk.fields;
  const get = of.bind(desk.fields);
  const stop = redraw(
    () => ({
      points: get("reach_points").value,
      starts: get("reach_starts").value,
      at: get("reach_at").value,
      on: desk.shown.layers.reach.value,
    }),
    ({ points, starts, at, on }) => {
      source.clear(true);
      if (on && points && starts && at) for (const run of reachedRuns(points, starts, at)) source.addFeature(lineFeature(run));
      layer.changed();
    },
  );
  return { layer, stop };
}

/** Runs of the shore that a way reaches, ring by ring; one that goes over the first place is one run. */
export function reachedRuns(points: Kept, starts: Kept, at: Kept): SitePoint[][] {
  return linesOf(points, starts).flatMap((ring, number) => {
    const first = starts.field.data[number] as number;
    const mine = ring.map((_, step) => at.field.data[first + step] === 1);
    if (mine.every(Boolean)) return ring.length > 1 ? [[...ring, ring[0] as SitePoint]] : [];
    const begin = mine.indexOf(false);
    const runs: SitePoint[][] = [];
    let run: SitePoint[] = [];
    for (let step = 0; step <= ring.length; step += 1) {
      const here = (begin + step) % ring.length;
      if (mine[here] && step < ring.length) run.push(ring[here] as SitePoint);
      else {
        if (run.length > 1) runs.push(run);
        run = [];
      }
    }
    return runs;
  });
}

export function overflowLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: overflowStyle });
  const get = desk.fields.of.bind(desk.fields);
  const stop = redraw(
    () => ({
      points: get("overflow_points").value,
      starts: get("overflow_starts").value,
      wallPoints: get("meeting_points").value,
      wallStarts: get("meeting_starts").value,
      bodies: desk.session.shown.value?.shape.bodies,
      on: desk.shown.layers.overflow.value,
    }),
    ({ points, starts, wallPoints, wallStarts, bodies, on }) => {
      source.clear(true);
      const isThere = (kept: Kept, at: number): boolean => (kept.head.ids?.[at] ?? "") in (bodies ?? {});
      if (on && points && starts) source.addFeatures(linesOf(points, starts).filter((_, at) => isThere(starts, at)).flatMap(arrow));
      if (on && wallPoints && wallStarts) source.addFeatures(linesOf(wallPoints, wallStarts).filter((_, at) => isThere(wallStarts, at)).map((each) => lineFeature(each, { as: "wall" })));
      layer.changed();
    },
  );
  return { layer, stop };
}

/** A dashed line with an open head at its end. */
function arrow(path: readonly SitePoint[]): Feature[] {
  const [tip] = path.slice(-1);
  if (!tip) return [];
  const before = path.findLast((place) => Math.hypot(place[0] - tip[0], place[1] - tip[1]) > 0.2) ?? (path[0] as SitePoint);
  const turn = Math.atan2(tip[0] - before[0], tip[1] - before[1]);
  return [lineFeature(path, { as: "run" }), pointFeature(tip, { as: "head", turn })];
}

function overflowStyle(feature: { get(key: string): unknown }): Style | Style[] {
  const as = feature.get("as");
  if (as === "wall") return [new Style({ stroke: new Stroke({ color: inkOf("wall"), width: 6, lineCap: "butt" }) }), new Style({ stroke: new Stroke({ color: faded("paper", 1), width: 2, lineDash: [3, 3], lineCap: "butt" }) })];
  if (as === "run") return [new Style({ stroke: new Stroke({ color: faded("paper", 0.9), width: 4 }) }), line("overflow")];
  return new Style({ image: new RegularShape({ points: 3, radius: 9, rotation: feature.get("turn") as number, rotateWithView: true, fill: fill("shore"), stroke: new Stroke({ color: faded("paper", 1), width: 1.5 }) }) });
}
