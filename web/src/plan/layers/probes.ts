/** Where the ground was probed or opened, and how high the water stood. */

import type Feature from "ol/Feature";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Probe, WaterMark } from "../../api/survey";
import { shown } from "../../format/shown";
import { heights, units } from "../../state/settings";
import { FONT, colour, fill, halo } from "../ink";
import { type Taken, type WordsOfPlan, isFree, underBox } from "../labels";
import { redraw } from "../redraw";
import { say } from "../say";
import type { Desk, PlanLayer } from "./layer";
import { pointFeature } from "./vectors";

const NAMES_FROM = 0.06; // metres for a pixel
const MARKS_FROM = 0.6;
const RODS_FROM = 0.12; // a grid of them is a grey cloud from farther away

export function probesLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorLayer({ source, style: (feature, resolution) => probeStyle(feature as Feature, resolution, words.at(resolution).taken), declutter: true });
  const stop = redraw(
    () => {
      const selection = desk.session.selection.value;
      return {
        probes: desk.session.shown.value?.site.probes, chosen: selection?.kind === "probe" ? selection.id : null,
        on: desk.shown.layers.probes.value, written: desk.words.value,
      };
    },
    ({ probes, chosen, on, written }) => {
      words = written;
      source.clear(true);
      const rows = on ? Object.entries(probes ?? {}) : [];
      source.addFeatures(rows.map(([id, { place, how, name }]: [string, Probe]) => pointFeature([place.east, place.north], { name: name || id, how: how ?? "rod", chosen: id === chosen, point: [place.east, place.north] })));
      layer.changed();
    },
  );
  return { layer, stop };
}

/** A rod is a small cross, a pit a square with its corners cut across, a bore a ring with a dot. */
function probeStyle(feature: Feature, resolution: number, taken: readonly Taken[]): Style[] {
  const chosen = feature.get("chosen") === true;
  const how = feature.get("how");
  if (resolution > (how === "rod" ? RODS_FROM : MARKS_FROM) && !chosen) return [];
  const stroke = new Stroke({ color: colour(chosen ? "select" : "ink"), width: chosen ? 3 : 1.5 });
  const marks = how === "pit"
    ? [new RegularShape({ points: 4, radius: 8, angle: Math.PI / 4, stroke, fill: fill("paper"), declutterMode: "none" }), new RegularShape({ points: 4, radius: 8, radius2: 0, angle: Math.PI / 4, stroke, declutterMode: "none" })]
    : how === "bore"
      ? [new CircleStyle({ radius: 6, stroke, fill: fill("paper"), declutterMode: "none" }), new CircleStyle({ radius: 2, fill: fill("ink"), declutterMode: "none" })]
      : [new RegularShape({ points: 4, radius: 4, radius2: 0, angle: 0, stroke, declutterMode: "none" })];
  const styles = marks.map((image) => new Style({ image }));
  // A grid of rods is told apart by pressing one; pits and bores are few, and have names that people use.
  if (how === "rod" && !chosen) return styles;
  const name = String(feature.get("name"));
  const point = feature.get("point") as readonly [number, number];
  const side = (["below", "above"] as const).find((one) => isFree(point, underBox(name, one), taken, resolution));
  if (chosen || (resolution < NAMES_FROM && side)) {
    styles.push(new Style({ text: new Text({ text: name, font: `11px ${FONT}`, offsetY: side === "above" ? -14 : 14, fill: fill("muted"), stroke: halo() }) }));
  }
  return styles;
}

export function waterMarksLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: waterStyle, declutter: true });
  const stop = redraw(
    () => {
      const waterLine = heights.value === "water" ? desk.session.waterLine.value : null;
      return { marks: desk.session.shown.value?.site.water_marks, waterLine, unit: units.value, on: desk.shown.layers.water.value };
    },
    ({ marks, waterLine, on }) => {
      source.clear(true);
      for (const mark of on ? Object.values(marks ?? {}) : []) {
        if (mark.place) source.addFeature(pointFeature([mark.place.east, mark.place.north], { words: waterWords(mark, waterLine) }));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

/** Season and height of a water mark. */
export function waterWords({ season, elevation }: WaterMark, waterLine: number | null): string {
  return `${say(`old.season.${season}`)} ${shown(elevation, "elevation", waterLine)}`;
}

/** The triangle that stands on a water line. */
function waterStyle(feature: { get(key: string): unknown }, resolution: number): Style[] {
  if (resolution > MARKS_FROM) return [];
  const stroke = new Stroke({ color: colour("shore"), width: 2 });
  const mark = new Style({ image: new RegularShape({ points: 3, radius: 7, angle: Math.PI, stroke, fill: fill("paper"), displacement: [0, 5], declutterMode: "none" }) });
  if (resolution < NAMES_FROM * 2) mark.setText(new Text({ text: String(feature.get("words")), font: `12px ${FONT}`, offsetX: 10, textAlign: "left", fill: fill("shore"), stroke: halo(4) }));
  return [mark];
}
