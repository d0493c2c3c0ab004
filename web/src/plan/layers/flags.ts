/** Checks as numbered flags at their places: stop is a filled square, look an open lozenge. */

import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Finding } from "../../api/types";
import { numbered } from "../../state/checks";
import type { SitePoint } from "../../geometry/types";
import { FONT, colour, fill } from "../ink";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { pointFeature } from "./vectors";

export interface NumberedFlag {
  readonly check: string;
  readonly number: number;
  readonly isStop: boolean;
  readonly point: SitePoint;
}

/** Flags of the checks that want attention: at the first place each of them names. */
export function flagsOf(checks: readonly Finding[]): NumberedFlag[] {
  return numbered(checks).flatMap(({ number, key, finding }) => {
    const [point] = finding.where.points;
    return number > 0 && point ? [{ check: key, number, isStop: finding.grade === "stop", point: [point[0], point[1]] as const }] : [];
  });
}

export function flagsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: styleOf });
  const stop = redraw(
    () => {
      const flags = desk.shown.layers.checks.value ? flagsOf(desk.session.checks.value) : [];
      // Each frame brings its checks anew, mostly with the same flags at the same places.
      return { flags: JSON.stringify(flags) };
    },
    ({ flags }) => {
      source.clear(true);
      for (const flag of JSON.parse(flags) as NumberedFlag[]) source.addFeature(pointFeature(flag.point, { ...flag }));
      layer.changed();
    },
  );
  return { layer, stop };
}

function styleOf(feature: { get(key: string): unknown }): Style {
  const isStop = feature.get("isStop") === true;
  const image = new RegularShape({
    points: 4,
    radius: 14,
    angle: isStop ? Math.PI / 4 : 0,
    fill: fill(isStop ? "stop" : "paper"),
    stroke: new Stroke({ color: colour(isStop ? "paper" : "look"), width: 2 }),
  });
  const text = new Text({ text: String(feature.get("number")), font: `700 13px ${FONT}`, offsetY: 1, fill: fill(isStop ? "paper" : "look") });
  return new Style({ image, text });
}
