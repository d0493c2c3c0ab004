/** Photos where they were taken: a small camera that looks the way one looked. */

import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Icon from "ol/style/Icon";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import type { PhotoEntry } from "../../api/types";
import { photoInHand, photos } from "../../state/photos";
import type { PhotoMark } from "../gestures/gesture";
import { colour, fill, kept } from "../ink";
import { redraw } from "../redraw";
import type { Desk, PlanLayer } from "./layer";
import { pointFeature } from "./vectors";

const SIZE = 44; // pixels
const BOX = { left: 13, top: 16, width: 18, height: 13, lens: 4 } as const;

export function viewsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({ source, style: styleOf });
  const stop = redraw(
    () => {
      return { all: photos.value, chosen: photoInHand.value, on: desk.shown.layers.views.value };
    },
    ({ all, chosen, on }) => {
      source.clear(true);
      for (const { id, point, bearing } of on ? marksOf(all) : []) source.addFeature(pointFeature(point, { bearing, chosen: id === chosen }));
      layer.changed();
    },
  );
  return { layer, stop };
}

interface Mark extends PhotoMark {
  readonly bearing: number | null;
}

/** Photos whose place somebody told. */
export function marksOf(some: readonly PhotoEntry[]): Mark[] {
  return some.flatMap(({ id, place, bearing }) => (place ? [{ id, point: [place.east, place.north] as const, bearing: bearing ?? null }] : []));
}

const plain = kept(() => drawnCamera("ink"));
const inHand = kept(() => drawnCamera("select"));

function styleOf(feature: { get(key: string): unknown }): Style[] {
  const isChosen = feature.get("chosen") === true;
  const bearing = feature.get("bearing") as number | null;
  const camera = new Style({ image: new Icon({ img: isChosen ? inHand() : plain(), declutterMode: "none" }) });
  if (bearing === null) return [camera];
  return [new Style({ image: wedge(bearing, isChosen ? "select" : "ink") }), camera];
}

/** A pointer beyond the camera, turned with the plan. */
function wedge(bearing: number, token: string): RegularShape {
  return new RegularShape({
    points: 3,
    radius: 9,
    rotation: bearing,
    rotateWithView: true,
    displacement: [20 * Math.sin(bearing), 20 * Math.cos(bearing)],
    fill: fill(token),
    stroke: new Stroke({ color: colour("paper"), width: 1.5 }),
    declutterMode: "none",
  });
}

/** The camera, drawn once for each look of the page. */
function drawnCamera(token: string): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [SIZE, SIZE];
  const pen = canvas.getContext("2d");
  if (pen === null) return canvas;
  const { left, top, width, height, lens } = BOX;
  pen.lineWidth = 1.75;
  pen.strokeStyle = colour(token);
  pen.fillStyle = colour("paper");
  pen.beginPath();
  pen.rect(left, top, width, height);
  pen.rect(left + 4, top - 3, 6, 3);
  pen.fill();
  pen.stroke();
  pen.beginPath();
  pen.arc(left + width / 2, top + height / 2, lens, 0, 2 * Math.PI);
  pen.stroke();
  return canvas;
}
