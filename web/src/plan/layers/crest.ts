/** The outer edge of the bank's crest, at its distance beside the shore. */

import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import { line } from "../ink";
import { beside, turn } from "../plane";
import { redraw } from "../redraw";
import { OUTER, ringOf, sampledRing } from "../rings";
import { type Desk, type PlanLayer, jobOf } from "./layer";
import { linesFeature } from "./vectors";

export function crestLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: () => line("crest") });
  const stop = redraw(
    () => {
      return { job: jobOf(desk), strip: desk.fields.of("strip").value, on: desk.shown.layers.crest.value };
    },
    ({ job, strip, on }) => {
      source.clear(true);
      const { body, crest } = strip?.head ?? {};
      const ring = job && body !== undefined ? ringOf(job, { body, ring: OUTER }) : null;
      const points = ring && !ring.open ? (sampledRing(ring)?.points ?? []).filter((_, at) => at % 2 === 0) : [];
      if (on && crest !== undefined && points.length > 2) {
        source.addFeature(linesFeature(beside(points, turn(points) > 0 ? -crest : crest, [])));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}
