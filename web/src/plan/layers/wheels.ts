/** Where a wheelchair reaches the water. */

import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Style from "ol/style/Style";
import type { SitePoint } from "../../geometry/types";
import type { Kept } from "../fields";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { sign } from "./signs";
import { pointFeature } from "./vectors";

const SIGNS_TO = 0.4; // metres for a pixel; from farther away they would hide the shore

/** Places of an answer of the server: one in the middle of each run of shore that a wheelchair reaches. */
export function wheelPlaces(places: Kept | null): SitePoint[] {
  if (places === null) return [];
  const { data, shape } = places.field;
  return Array.from({ length: shape[0] ?? 0 }, (_, at): SitePoint => [data[2 * at] as number, data[2 * at + 1] as number]);
}

export function wheelsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: wheelStyle });
  const stop = redraw(
    () => ({ places: desk.fields.of("reach_wheels").value, on: desk.shown.layers.reach.value }),
    ({ places, on }) => {
      source.clear(true);
      if (on) source.addFeatures(wheelPlaces(places).map((point) => pointFeature(point)));
      layer.changed();
    },
  );
  return { layer, stop };
}

function wheelStyle(_feature: unknown, resolution: number): Style[] {
  return resolution > SIGNS_TO ? [] : [new Style({ image: sign("wheels") })];
}
