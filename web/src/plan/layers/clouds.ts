/** Measured surfaces: a tiny dot at each of their points, near enough only. */

import VectorImageLayer from "ol/layer/VectorImage";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import Style from "ol/style/Style";
import { fill, kept } from "../ink";
import { cloudPoints } from "../places";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { pointFeature } from "./vectors";

const DOTS_FROM = 0.2; // metres for a pixel

const dot = kept(() => new Style({ image: new CircleStyle({ radius: 1.5, fill: fill("ink", 0.6) }) }));

export function cloudsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorImageLayer({ source, style: () => dot(), maxResolution: DOTS_FROM, imageRatio: 1.3 });
  const stop = redraw(
    () => ({ clouds: desk.session.shown.value?.site.clouds, on: desk.shown.layers.clouds.value }),
    ({ clouds, on }) => {
      source.clear(true);
      source.addFeatures(on ? Object.values(clouds ?? {}).flatMap((cloud) => cloudPoints(cloud).map((point) => pointFeature(point))) : []);
      layer.changed();
    },
  );
  return { layer, stop };
}
