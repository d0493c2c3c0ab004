/** What the hand is about: the line in the making, what it lies on, the place pointed at, the section. */

import type Feature from "ol/Feature";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import CircleStyle from "ol/style/Circle";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import type { SitePoint } from "../../geometry/types";
import { lit } from "../../state/desk";
import type { Sketch } from "../gestures/gesture";
import { FONT, colour, fill, halo } from "../ink";
import { pointed, sectionLine } from "../mark";
import { crossings } from "../plane";
import { redraw } from "../redraw";
import { curveThrough, sampledRing } from "../rings";
import type { Desk, PlanLayer } from "./layer";
import { closed, lineFeature, pointFeature } from "./vectors";

export function handLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: (feature) => STYLES[feature.get("as") as keyof typeof STYLES](feature) });
  const stop = redraw(
    () => {
      return { sketch: desk.sketch.value, mark: desk.mark.value, place: pointed.value, section: sectionLine.value, rings: lit.value };
    },
    ({ sketch, mark, place, section, rings }) => {
      source.clear(true);
      source.addFeatures([
        ...sectionFeatures(section ?? []),
        ...sketchFeatures(sketch),
        ...rings.map((point) => pointFeature([point[0], point[1]], { as: "lit" })),
        ...(mark ? [pointFeature(mark, { as: "mark" })] : []),
        // The plan's own pointer needs no second cross beside it.
        ...(place && place.from !== "plan" ? [pointFeature([place.east, place.north], { as: "pointed" })] : []),
      ]);
      layer.changed();
    },
  );
  return { layer, stop };
}

function sketchFeatures(sketch: Sketch | null): Feature[] {
  if (sketch === null) return [];
  const { places, smooth } = sketch;
  const ring = { curve: curveThrough(places), open: !sketch.closed };
  const points = (smooth ? sampledRing(ring)?.points : null) ?? places;
  const drawn = sketch.closed ? closed(points) : points;
  return [
    lineFeature(drawn, { as: "sketch" }),
    ...places.map((place) => pointFeature(place, { as: "place" })),
    ...crossings(points, sketch.closed).map((place) => pointFeature(place, { as: "crossing" })),
  ];
}

function sectionFeatures(line: readonly SitePoint[]): Feature[] {
  const [from, to] = [line[0], line.at(-1)];
  if (!from || !to || line.length < 2) return [];
  return [
    lineFeature(line, { as: "section" }),
    pointFeature(from, { as: "letter", letter: "A" }),
    pointFeature(to, { as: "letter", letter: "A′" }),
  ];
}

type Look = (feature: { get(key: string): unknown }) => Style | Style[];

const STYLES = {
  sketch: () => [
    new Style({ stroke: new Stroke({ color: colour("paper"), width: 5 }) }),
    new Style({ stroke: new Stroke({ color: colour("select"), width: 2.5, lineDash: [8, 5] }) }),
  ],
  place: () => new Style({ image: new CircleStyle({ radius: 5, fill: fill("paper"), stroke: new Stroke({ color: colour("select"), width: 2.5 }) }) }),
  crossing: () =>
    new Style({ image: new RegularShape({ points: 4, radius: 13, radius2: 0, angle: Math.PI / 4, stroke: new Stroke({ color: colour("stop"), width: 4 }) }) }),
  mark: () =>
    new Style({ image: new RegularShape({ points: 4, radius: 14, angle: Math.PI / 4, stroke: new Stroke({ color: colour("select"), width: 2 }) }) }),
  pointed: () => [
    new Style({ image: new CircleStyle({ radius: 9, stroke: new Stroke({ color: colour("paper"), width: 5 }) }) }),
    new Style({ image: new CircleStyle({ radius: 9, stroke: new Stroke({ color: colour("ink"), width: 2 }) }) }),
    new Style({ image: new RegularShape({ points: 4, radius: 15, radius2: 0, stroke: new Stroke({ color: colour("ink"), width: 2 }) }) }),
  ],
  lit: () => [
    new Style({ image: new CircleStyle({ radius: 22, stroke: new Stroke({ color: colour("paper"), width: 7 }) }) }),
    new Style({ image: new CircleStyle({ radius: 22, stroke: new Stroke({ color: colour("select"), width: 3 }) }) }),
  ],
  section: () => [
    new Style({ stroke: new Stroke({ color: colour("paper"), width: 5 }) }),
    new Style({ stroke: new Stroke({ color: colour("ink"), width: 1.5, lineDash: [16, 4, 3, 4], lineCap: "butt" }) }),
  ],
  letter: (feature) =>
    new Style({
      image: new CircleStyle({ radius: 10, fill: fill("paper"), stroke: new Stroke({ color: colour("ink"), width: 1.5 }) }),
      text: new Text({ text: String(feature.get("letter")), font: `700 12px ${FONT}`, fill: fill("ink"), stroke: halo(1) }),
    }),
} satisfies Readonly<Record<string, Look>>;
