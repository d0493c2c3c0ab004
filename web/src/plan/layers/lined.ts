/** What belongs to the liner and stands in the job: pipes through it, patches, guards, lines to tape. */

import type Feature from "ol/Feature";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Guard, TapeCheck } from "../../api/lining";
import type { Job } from "../../api/types";
import { shown as shownValue } from "../../format/shown";
import type { Selection } from "../../state/session";
import { units } from "../../state/settings";
import { type Built, isLined, linedOf, nameOf, pointsOf } from "../built";
import { FONT, type LineName, colour, faded, fill, halo, inkOf, pen } from "../ink";
import type { WordsOfPlan } from "../labels";
import { drawnPlace } from "../places";
import { redraw } from "../redraw";
import { type Desk, type PlanLayer, jobOf } from "./layer";
import { sign } from "./signs";
import { lineFeature, pointFeature } from "./vectors";
import { WATER_GAP, setAt } from "./words";

const NAMES_FROM = 0.1; // metres for a pixel
const SIGNS_TO = 0.3;
const TICK = 10; // pixels of a tick of the tape
const TICKS = [1.4, 10.6] as const; // thickness of a tick, and the gap to the next

interface Looked {
  get(key: string): unknown;
}

export function linedLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorLayer({ source, style: (feature, resolution) => styleOf(feature as unknown as Looked, resolution, words), declutter: true });
  const stop = redraw(
    () => {
      const [on, selection] = [desk.shown.layers.lined.value, desk.session.selection.value];
      const job = on || isLined(selection?.kind ?? "") ? jobOf(desk) : null;
      return { job, selection, on, unit: units.value, written: desk.words.value };
    },
    ({ job, selection, on, written }) => {
      words = written;
      source.clear(true);
      // What is chosen is seen even where its layer is off.
      for (const row of job ? linedOf(job) : []) {
        if (on || (selection?.kind === row.kind && selection.id === row.id)) source.addFeatures(featuresOf(job as Job, row, selection));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

function featuresOf(job: Job, row: Built, selection: Selection | null): Feature[] {
  const drawn = drawnPlace(job, row.place);
  if (drawn === null) return [];
  const chosen = selection?.kind === row.kind && selection.id === row.id;
  const values = { key: `${row.kind}:${row.id}`, kind: row.kind, name: nameOf(row), chosen };
  if (drawn.as === "point") return [pointFeature(drawn.point, { ...values, as: "mark" })];
  if (drawn.as !== "line") return [];
  const handles = chosen ? pointsOf(row).map((point, at) => pointFeature(point, { as: "handle", chosen: selection.at === at })) : [];
  return [lineFeature(drawn.line, { ...values, as: "line", symbol: symbolOf(row), words: wordsOf(row) }), ...handles];
}

function symbolOf({ kind, row }: Built): LineName {
  if (kind === "tape") return "tape";
  return (row as unknown as Guard).kind === "root" ? "guard_root" : "guard_burrow";
}

/** A tape says its length once it is known, a guard how deep it reaches. */
function wordsOf(row: Built): string {
  const { taped = null } = row.row as unknown as TapeCheck;
  if (row.kind === "tape") return taped === null ? nameOf(row) : `${nameOf(row)} ${shownValue(taped, "length")}`;
  return `${nameOf(row)} ${shownValue((row.row as unknown as Guard).depth, "length")}`;
}

function styleOf(feature: Looked, resolution: number, words: WordsOfPlan): Style[] {
  const as = feature.get("as");
  if (as === "handle") return [handle(feature.get("chosen") === true)];
  const chosen = feature.get("chosen") === true;
  if (as === "line") return lineStyles(feature, resolution, chosen);
  if (resolution > SIGNS_TO && !chosen) return [];
  const mark = new Style({ image: sign(feature.get("kind") === "patch" ? "patch" : "boot", chosen), zIndex: 4 });
  const side = words.at(resolution).sides.get(String(feature.get("key"))) ?? (chosen ? "right" : null);
  if (side) mark.setText(new Text({ ...setAt(side, WATER_GAP), text: String(feature.get("name")), font: `12px ${FONT}`, fill: fill("ink"), stroke: halo(4), declutterMode: "none" }));
  return [mark];
}

function lineStyles(feature: Looked, resolution: number, chosen: boolean): Style[] {
  const symbol = feature.get("symbol") as LineName;
  const under = chosen
    ? [new Style({ stroke: new Stroke({ color: colour("select"), width: 9 }) }), new Style({ stroke: new Stroke({ color: colour("paper"), width: 6 }) })]
    : [new Style({ stroke: new Stroke({ color: faded("paper", 0.85), width: 5 }) })];
  const line = new Style({ stroke: pen(symbol) });
  const ticks = symbol === "tape" ? [new Style({ stroke: new Stroke({ color: inkOf("tape"), width: TICK, lineDash: [...TICKS], lineCap: "butt" }) })] : [];
  if (resolution <= NAMES_FROM) line.setText(new Text({ text: String(feature.get("words")), font: `12px ${FONT}`, placement: "line", textBaseline: "bottom", offsetY: -6, fill: fill("ink"), stroke: halo(4), overflow: chosen }));
  return [...under, line, ...ticks];
}

function handle(chosen: boolean): Style {
  const image = chosen
    ? new RegularShape({ points: 4, radius: 10, angle: Math.PI / 4, fill: fill("select"), stroke: new Stroke({ color: colour("paper"), width: 2 }), declutterMode: "none" })
    : new CircleStyle({ radius: 6, fill: fill("paper"), stroke: new Stroke({ color: colour("select"), width: 2.5 }), declutterMode: "none" });
  return new Style({ image, zIndex: 6 });
}
