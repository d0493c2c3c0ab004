/** A shore that is offered, dashed over the one that is drawn. */

import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import { bendShown } from "../../state/bend";
import { colour } from "../ink";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { closed, lineFeature } from "./vectors";

export function bendLayer(_desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({
    source,
    style: () => [
      new Style({ stroke: new Stroke({ color: colour("paper"), width: 5 }) }),
      new Style({ stroke: new Stroke({ color: colour("select"), width: 2.5, lineDash: [9, 6] }) }),
    ],
  });
  const stop = redraw(
    () => ({ bend: bendShown.value }),
    ({ bend }) => {
      source.clear(true);
      if (bend) source.addFeature(lineFeature(closed(bend.ring)));
      layer.changed();
    },
  );
  return { layer, stop };
}
