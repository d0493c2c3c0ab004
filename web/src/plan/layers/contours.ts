/** Contours as they were and as they will be, heights written on every index line. */

import type Feature from "ol/Feature";
import type { StyleFunction } from "ol/style/Style";
import Text from "ol/style/Text";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import { shown as shownValue } from "../../format/shown";
import { heights, units } from "../../state/settings";
import { type Contours, contoursOf } from "../fields";
import { FONT, fill, halo, kept, line } from "../ink";
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
  const layer = new VectorLayer({ source, style: contourStyle("design") });
  return { layer, stop: followContours(desk, "new", source, () => layer.changed()) };
}

function followContours({ fields, shown, session }: Desk, which: "old" | "new", source: VectorSource, changed: () => void): () => void {
  return redraw(
    () => {
      const points = fields.of(`contours_${which}_points`).value;
      const starts = fields.of(`contours_${which}_starts`).value;
      const levels = fields.of(`contours_${which}_levels`).value;
      const waterLine = heights.value === "water" ? session.waterLine.value : null;
      // Heights on lines that move cannot be read, and are what costs most to draw.
      const withHeights = which === "old" || session.preview.value === null;
      return { points, starts, levels, on: shown.layers[which].value, waterLine, withHeights, unit: units.value };
    },
    ({ points, starts, levels, on, waterLine, withHeights }) => {
      source.clear(true);
      if (on && points && starts && levels) source.addFeatures(featuresOf(contoursOf(points, starts, levels), waterLine, withHeights));
      changed();
    },
  );
}

function featuresOf(contours: readonly Contours[], waterLine: number | null, withHeights: boolean): Feature[] {
  const between = contours.filter((one) => !one.isIndex).map((one) => one.line);
  const index = contours.filter((one) => one.isIndex);
  return [
    linesFeature(between),
    ...index.map(({ line: places, level }) => lineFeature(places, { height: withHeights ? shownValue(level, "elevation", waterLine) : "" })),
  ];
}

function contourStyle(which: "existing" | "design"): StyleFunction {
  const made = kept(() => {
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
    return { between: line(`${which}_contour`), index, text };
  });
  return (feature) => {
    const { between, index, text } = made();
    const height = feature.get("height") as string | undefined;
    if (height === undefined) return between;
    text.setText(height);
    return index;
  };
}
