/** Shorelines and islands as the pegs bend them, drawn at once from the hand; crossings in red. */

import Feature from "ol/Feature";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { Job } from "../../api/types";
import type { Selection } from "../../state/session";
import { FONT, colour, fill, halo, kept, pen } from "../ink";
import { redraw } from "../redraw";
import { OUTER, crossingsOf, pegPoint, ringsOf, sampledRing } from "../rings";
import { type Desk, type PlanLayer, jobOf } from "./layer";
import { closed, lineFeature, pointFeature } from "./vectors";

export const PEGS_FROM = 0.3; // metres for a pixel
export const NAMES_FROM = 0.04;

export function shoreLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: styleOf });
  const stop = redraw(
    () => {
      return { job: jobOf(desk), selection: desk.session.selection.value, pegs: desk.shown.layers.pegs.value };
    },
    ({ job, selection, pegs }) => {
      source.clear(true);
      if (job) source.addFeatures(featuresOf(job, selection, pegs));
      layer.changed();
    },
  );
  return { layer, stop };
}

function featuresOf(job: Job, selection: Selection | null, withPegs: boolean): Feature[] {
  return ringsOf(job).flatMap((ring) => {
    const points = sampledRing(ring)?.points ?? ring.curve.pegs.map(pegPoint);
    const isChosen = selection?.body === ring.body && (selection.ring ?? OUTER) === ring.ring;
    const crossed = crossingsOf(ring).map((place) => pointFeature(place, { as: "crossing" }));
    const pegs = withPegs
      ? ring.curve.pegs.map((peg) =>
          pointFeature(pegPoint(peg), {
            as: "peg",
            id: peg.id,
            corner: peg.corner ?? false,
            chosen: isChosen && selection?.kind === "peg" && selection.id === peg.id,
          }),
        )
      : [];
    const shore = lineFeature(ring.open ? points : closed(points), { as: ring.open ? "middle" : "shore", chosen: isChosen && selection?.kind === "body" });
    return [shore, ...pegs, ...crossed];
  });
}

function styleOf(feature: { get(key: string): unknown }, resolution: number): Style | Style[] {
  const as = feature.get("as");
  if (as === "shore") return feature.get("chosen") === true ? chosenShore() : plainShore();
  if (as === "middle") return feature.get("chosen") === true ? [...chosenShore(), middle()] : middle();
  if (as === "crossing") return crossing();
  if (resolution > PEGS_FROM) return [];
  return feature.get("chosen") === true ? chosenPeg(feature) : peg(feature, resolution);
}

const middle = kept(() => new Style({ stroke: pen("stream_middle") }));
const plainShore = kept(() => [new Style({ stroke: pen("shoreline") })]);
// What is chosen is told by a doubled line, not by its hue.
const chosenShore = kept(() => [
  new Style({ stroke: new Stroke({ color: colour("select"), width: 7 }) }),
  new Style({ stroke: new Stroke({ color: colour("paper"), width: 4.5 }) }),
  ...plainShore(),
]);
const roundPeg = kept(() => new CircleStyle({ radius: 4.5, fill: fill("paper"), stroke: new Stroke({ color: colour("ink"), width: 1.5 }) }));
const cornerPeg = kept(() => new RegularShape({ points: 4, radius: 7, angle: 0, fill: fill("paper"), stroke: new Stroke({ color: colour("ink"), width: 1.5 }) }));
const roundPegs = kept(() => new Style({ image: roundPeg(), zIndex: 1 }));
const cornerPegs = kept(() => new Style({ image: cornerPeg(), zIndex: 1 }));
const crossing = kept(() => {
  const cross = (width: number, ink: string): RegularShape =>
    new RegularShape({ points: 4, radius: 12, radius2: 0, angle: Math.PI / 4, stroke: new Stroke({ color: ink, width }) });
  const ring = new CircleStyle({ radius: 15, stroke: new Stroke({ color: colour("stop"), width: 3 }) });
  return [new Style({ image: cross(7, colour("paper")), zIndex: 4 }), new Style({ image: cross(3.5, colour("stop")), zIndex: 5 }), new Style({ image: ring, zIndex: 5 })];
});

function peg(feature: { get(key: string): unknown }, resolution: number): Style {
  const isCorner = feature.get("corner") === true;
  if (resolution >= NAMES_FROM) return isCorner ? cornerPegs() : roundPegs();
  return new Style({ image: isCorner ? cornerPeg() : roundPeg(), zIndex: 1, text: name(feature) });
}

function chosenPeg(feature: { get(key: string): unknown }): Style[] {
  const angle = feature.get("corner") === true ? 0 : Math.PI / 4;
  const square = (radius: number, token: string): RegularShape => new RegularShape({ points: 4, radius, angle, fill: fill(token) });
  return [new Style({ image: square(13, "paper"), zIndex: 2 }), new Style({ image: square(10, "select"), text: name(feature), zIndex: 3 })];
}

function name(feature: { get(key: string): unknown }): Text {
  return new Text({ text: String(feature.get("id")), font: `12px ${FONT}`, offsetX: 10, offsetY: -10, textAlign: "left", fill: fill("ink"), stroke: halo() });
}
