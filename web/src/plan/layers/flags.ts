/** Checks as numbered flags at their places: stop is a filled square, look an open lozenge. */

import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Finding } from "../../api/types";
import { flagged } from "../../state/checks";
import { type Leaf, leaves } from "../../state/desk";
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

/** Flags of the checks that want attention, with these leaves open: at the first place each of them names. */
export function flagsOf(checks: readonly Finding[], open: readonly Leaf[]): NumberedFlag[] {
  return flagged(checks, open).flatMap(({ number, key, finding }) => {
    const [point] = finding.where.points;
    return point ? [{ check: key, number, isStop: finding.grade === "stop", point: [point[0], point[1]] as const }] : [];
  });
}

export function flagsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let flags: readonly NumberedFlag[] = [];
  const layer = new VectorLayer({ source, style: (feature, resolution) => styleOf(feature as unknown as Looked, isBehind(feature.get("number") as number, flags, resolution)) });
  const stop = redraw(
    () => {
      const own = desk.shown.layers.checks.value ? flagsOf(desk.session.checks.value, leaves.value) : [];
      // Each frame brings its checks anew, mostly with the same flags at the same places.
      return { own: JSON.stringify(own) };
    },
    ({ own }) => {
      flags = JSON.parse(own) as NumberedFlag[];
      source.clear(true);
      for (const flag of flags) source.addFeature(pointFeature(flag.point, { ...flag }));
      layer.changed();
    },
  );
  return { layer, stop };
}

const APART_PX = 20;

/** Whether a more important flag stands so near that two numbers would be written over one another. */
export function isBehind(number: number, flags: readonly NumberedFlag[], resolution: number): boolean {
  const own = flags.find((flag) => flag.number === number);
  if (own === undefined) return false;
  const near = (other: NumberedFlag): boolean => Math.hypot(other.point[0] - own.point[0], other.point[1] - own.point[1]) < APART_PX * resolution;
  return flags.some((other) => other.number < number && near(other) && !isBehind(other.number, flags, resolution));
}

interface Looked {
  get(key: string): unknown;
}

/** A flag behind another one is small and bare: the plan shows its number from nearer. */
function styleOf(feature: Looked, behind: boolean): Style {
  const isStop = feature.get("isStop") === true;
  const image = new RegularShape({
    points: 4,
    radius: behind ? 7 : 14,
    angle: isStop ? Math.PI / 4 : 0,
    fill: fill(isStop ? "stop" : "paper"),
    stroke: new Stroke({ color: colour(isStop ? "paper" : "look"), width: 2 }),
  });
  const zIndex = -(feature.get("number") as number);
  if (behind) return new Style({ image, zIndex: zIndex - 1000 });
  const text = new Text({ text: String(feature.get("number")), font: `700 13px ${FONT}`, offsetY: 1, fill: fill(isStop ? "paper" : "look") });
  return new Style({ image, text, zIndex });
}
