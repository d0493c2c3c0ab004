/** Bank types from here to here: a band along the shore with its name. */

import type { FeatureLike } from "ol/Feature";
import type LineString from "ol/geom/LineString";
import Point from "ol/geom/Point";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import { FONT, faded, fill, halo, kept } from "../ink";
import type { Side, WordsOfPlan } from "../labels";
import { redraw } from "../redraw";
import { OUTER, ringOf, stretchPoints } from "../rings";
import { type Desk, type PlanLayer, jobOf } from "./layer";
import { lineFeature } from "./vectors";
import { BANK_GAP, setAt } from "./words";

const band = kept(() => new Style({ stroke: new Stroke({ color: faded("shore", 0.35), width: 12, lineCap: "butt" }) }));

export function banksLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorLayer({
    source,
    style: (feature, resolution) => {
      const side = words.at(resolution).sides.get(String(feature.get("key")));
      return side ? [band(), name(feature, side)] : band();
    },
  });
  const stop = redraw(
    () => {
      return { job: jobOf(desk), on: desk.shown.layers.banks.value, written: desk.words.value };
    },
    ({ job, on, written }) => {
      words = written;
      source.clear(true);
      for (const [body, row] of on && job ? Object.entries(job.shape.bodies ?? {}) : []) {
        for (const [id, stretch] of Object.entries(row.stretches ?? {})) {
          const ring = job && ringOf(job, { body, ring: stretch.ring ?? OUTER });
          const places = ring ? stretchPoints(ring, stretch) : [];
          const name = job?.shape.bank_types?.[stretch.bank_type]?.name || stretch.bank_type;
          if (places.length > 1) source.addFeature(lineFeature(places, { name, key: `bank:${body}/${id}` }));
        }
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

function name(feature: FeatureLike, side: Side): Style {
  const middle = new Point((feature.getGeometry() as LineString).getCoordinateAt(0.5));
  return new Style({ geometry: middle, text: new Text({ ...setAt(side, BANK_GAP), text: String(feature.get("name")), font: `600 12px ${FONT}`, fill: fill("shore"), stroke: halo(4) }) });
}
