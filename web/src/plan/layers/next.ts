/** Where to shoot next: numbered sights, the best first, each with how much it narrows the dug volume. */

import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import { shown } from "../../format/shown";
import { units } from "../../state/settings";
import type { Kept } from "../fields";
import { FONT, colour, fill, halo } from "../ink";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { pointFeature } from "./vectors";

const WORDS_FROM = 0.05; // metres for a pixel

export interface NextShot {
  readonly number: number;
  readonly point: readonly [number, number];
  /** Standard deviation of the dug volume now, and with that shot [m³]. */
  readonly before: number;
  readonly after: number;
  readonly why: string;
}

/** Places of an answer of the server, the best first. */
export function nextShots(kept: Kept | null): readonly NextShot[] {
  if (kept === null) return [];
  const { data, shape } = kept.field;
  return Array.from({ length: shape[0] ?? 0 }, (_, at) => {
    const [east, north, before, after] = Array.from(data.subarray(4 * at, 4 * at + 4)) as [number, number, number, number];
    return { number: at + 1, point: [east, north] as const, before, after, why: kept.head.says?.[at] ?? "" };
  });
}

export function nextLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: styleOf, declutter: true });
  const stop = redraw(
    () => ({ kept: desk.fields.of("next_shots").value, on: desk.shown.layers.next.value, unit: units.value }),
    ({ kept, on }) => {
      source.clear(true);
      for (const { number, point, before, after } of on ? nextShots(kept) : []) {
        const [now, then] = [shown(before, "soil volume"), shown(after, "soil volume")];
        source.addFeature(pointFeature(point, { number, words: now === then ? "" : `± ${now} → ± ${then}` }));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

function styleOf(feature: { get(key: string): unknown }, resolution: number): Style[] {
  const disc = new CircleStyle({ radius: 11, stroke: new Stroke({ color: colour("ink"), width: 1.5 }), fill: fill("paper"), declutterMode: "none" });
  const hairs = (width: number, token: string): RegularShape => new RegularShape({ points: 4, radius: 16, radius2: 0, stroke: new Stroke({ color: colour(token), width }), declutterMode: "none" });
  const number = new Text({ text: String(feature.get("number")), font: `700 13px ${FONT}`, offsetY: 1, fill: fill("ink"), stroke: halo(4), overflow: true, declutterMode: "none" });
  const words = new Text({ text: String(feature.get("words")), font: `12px ${FONT}`, offsetY: 21, fill: fill("ink"), stroke: halo(4) });
  return [new Style({ image: hairs(4, "paper") }), new Style({ image: hairs(1.5, "ink") }), new Style({ image: disc, text: number }), ...(resolution < WORDS_FROM ? [new Style({ text: words })] : [])];
}
