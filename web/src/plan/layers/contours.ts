/** Contours as they were and as they will be, heights written on every index line. */

import type Feature from "ol/Feature";
import type { StyleFunction } from "ol/style/Style";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import { shown as shownValue } from "../../format/shown";
import { heights, units } from "../../state/settings";
import { type Contours, contoursOf } from "../fields";
import { FONT, fill, halo, line, looks } from "../ink";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { lineFeature, linesFeature } from "./vectors";

/** The ground as found: it does not move, so it is kept as a picture. */
export function oldContours(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorImageLayer({ source, style: contourStyle("existing"), imageRatio: 1.3, declutter: true });
  return { layer, stop: followContours(desk, "old", source, () => layer.changed()) };
}

/** The ground as designed: it follows the hand. */
export function newContours(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: contourStyle("design"), declutter: true });
  return { layer, stop: followContours(desk, "new", source, () => layer.changed()) };
}

function followContours({ fields, shown, session }: Desk, which: "old" | "new", source: VectorSource, changed: () => void): () => void {
  return redraw(
    () => {
      void looks.value;
      void units.value;
      const points = fields.of(`contours_${which}_points`).value;
      const starts = fields.of(`contours_${which}_starts`).value;
      const levels = fields.of(`contours_${which}_levels`).value;
      const waterLine = heights.value === "water" ? session.waterLine.value : null;
      return { points, starts, levels, on: shown.layers[which].value, waterLine };
    },
    ({ points, starts, levels, on, waterLine }) => {
      source.clear(true);
      if (on && points && starts && levels) source.addFeatures(featuresOf(contoursOf(points, starts, levels), waterLine));
      changed();
    },
  );
}

function featuresOf(contours: readonly Contours[], waterLine: number | null): Feature[] {
  const between = contours.filter((one) => !one.isIndex).map((one) => one.line);
  const index = contours.filter((one) => one.isIndex);
  return [
    linesFeature(between),
    ...index.map(({ line: places, level }) => lineFeature(places, { height: shownValue(level, "elevation", "", waterLine) })),
  ];
}

function contourStyle(which: "existing" | "design"): StyleFunction {
  const styles = new Map<number, { between: Style; index: Style; text: Text }>();
  return (feature) => {
    let made = styles.get(looks.value);
    if (!made) {
      styles.clear();
      const index = line(`${which}_index`);
      const text = new Text({
        font: `600 12px ${FONT}`,
        placement: "line",
        fill: fill(which === "existing" ? "contour" : "ink"),
        stroke: halo(4),
        repeat: 400,
        maxAngle: Math.PI / 5,
        padding: [1, 2, 1, 2],
      });
      index.setText(text);
      made = { between: line(`${which}_contour`), index, text };
      styles.set(looks.value, made);
    }
    const height = feature.get("height") as string | undefined;
    if (height === undefined) return made.between;
    made.text.setText(height);
    return made.index;
  };
}
