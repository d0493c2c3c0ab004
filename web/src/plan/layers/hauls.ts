/** Piles with their foot, gates, and who goes where with what: the wider an arrow, the more goes along it. */

import Feature from "ol/Feature";
import LineString from "ol/geom/LineString";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Fill from "ol/style/Fill";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import Point from "ol/geom/Point";
import type { Job } from "../../api/types";
import type { SitePoint } from "../../geometry/types";
import { computed } from "../../state/signal";
import { type Haul, arrows, haulsOf, wayOf } from "../hauls";
import { FONT, colour, faded, fill, halo } from "../ink";
import type { WordsOfPlan } from "../labels";
import { drawnPlace } from "../places";
import { redraw } from "../redraw";
import { middleOfPlace, soilPlaces } from "../soil-places";
import { type Desk, type PlanLayer, jobOfSection } from "./layer";
import { type SignName, sign } from "./signs";
import { lineFeature, pointFeature, polygonFeature } from "./vectors";
import { SOIL_GAP, setAt } from "./words";

const THINNEST = 1.5; // pixels
const WIDEST = 9;

interface Looked {
  get(key: string): unknown;
  getGeometry(): unknown;
}

const NONE: readonly Haul[] = [];
let made: { readonly from: unknown; readonly arrows: readonly Haul[] } = { from: null, arrows: [] };

/** Arrows that are shown, none while the layer is off. */
export function haulArrows({ fields, shown }: Pick<Desk, "fields" | "shown">): readonly Haul[] {
  const kept = fields.of("hauls").value;
  if (!shown.layers.hauls.value) return NONE;
  const [places, starts] = [fields.of("haul_bends").value, fields.of("haul_bend_starts").value];
  const bends = places === null || starts === null ? null : { places: places.field.data, starts: starts.field.data };
  if (made.from !== kept) made = { from: kept, arrows: arrows(haulsOf(kept, bends)) };
  return made.arrows;
}

export function haulsLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  let words: WordsOfPlan = desk.words.value;
  const layer = new VectorLayer({ source, style: (feature, resolution) => styleOf(feature as unknown as Looked, resolution, words), declutter: true });
  const feet = computed(() => feetOf(desk));
  const job = jobOfSection(desk, "earth");
  const stop = redraw(
    () => {
      const selection = desk.session.selection.value;
      return {
        job: job(),
        on: desk.shown.layers.piles.value,
        arrows: haulArrows(desk),
        feet: feet.value,
        written: desk.words.value,
        chosen: selection?.kind === "pile" || selection?.kind === "gate" ? `${selection.kind} ${selection.id}` : "",
      };
    },
    ({ job, on, arrows: some, feet: rings, chosen, written }) => {
      words = written;
      source.clear(true);
      if (on && job) source.addFeatures(feetFeatures(job, rings));
      source.addFeatures(some.map((one) => arrow(one, some[0]?.volume ?? 1)));
      if (on && job) source.addFeatures(marks(job, chosen));
      layer.changed();
    },
  );
  return { layer, stop };
}

/** Foot of each pile as the server has it. */
function feetOf({ fields }: Desk): ReadonlyMap<string, readonly SitePoint[]> {
  const [points, starts] = [fields.of("pile_points").value, fields.of("pile_starts").value];
  const feet = new Map<string, readonly SitePoint[]>();
  if (points === null || starts === null) return feet;
  const { data } = points.field;
  starts.head.ids?.forEach((id, at) => {
    const [from, to] = [starts.field.data[at] ?? 0, starts.field.data[at + 1] ?? 0];
    feet.set(id, Array.from({ length: to - from }, (_, step) => [data[2 * (from + step)] as number, data[2 * (from + step) + 1] as number] as const));
  });
  return feet;
}

/** The foot follows its pile while it is dragged: a ring is drawn from the job, a heap around its point. */
function feetFeatures(job: Job, feet: ReadonlyMap<string, readonly SitePoint[]>): Feature[] {
  return soilPlaces(job).flatMap(({ kind, id, place }) => {
    if (kind !== "pile") return [];
    const drawn = drawnPlace(job, place);
    const ring = drawn?.as === "ring" ? drawn.ring : around(feet.get(id) ?? [], middleOfPlace(place));
    return ring.length > 2 ? [polygonFeature([ring], { as: "foot" })] : [];
  });
}

function around(ring: readonly SitePoint[], [east, north]: SitePoint): SitePoint[] {
  const count = ring.length || 1;
  const middle: SitePoint = [ring.reduce((sum, [x]) => sum + x, 0) / count, ring.reduce((sum, [, y]) => sum + y, 0) / count];
  return ring.map(([x, y]): SitePoint => [x - middle[0] + east, y - middle[1] + north]);
}

function arrow(haul: Haul, most: number): Feature {
  const { volume, stream } = haul;
  return lineFeature(wayOf(haul), { as: "arrow", stream, width: THINNEST + (WIDEST - THINNEST) * Math.sqrt(volume / most) });
}

function marks(job: Job, chosen: string): Feature[] {
  return soilPlaces(job).map(({ kind, id, name, place }) => pointFeature(middleOfPlace(place), { as: kind, key: `${kind}:${id}`, name, chosen: `${kind} ${id}` === chosen }));
}

/** Streams differ in their dash as well: topsoil long, muck dotted, soil plain. */
const STREAMS: Readonly<Record<string, { readonly token: string; readonly dash: readonly number[] }>> = {
  topsoil: { token: "good", dash: [14, 6] },
  muck: { token: "look", dash: [3, 5] },
  soil: { token: "ink", dash: [] },
};

function styleOf(feature: Looked, resolution: number, words: WordsOfPlan): Style[] {
  const as = feature.get("as");
  if (as === "foot") return [new Style({ fill: fill("look", 0.16), stroke: new Stroke({ color: colour("look"), width: 2, lineDash: [6, 3] }) })];
  if (as === "arrow") return arrowStyles(feature, resolution);
  const chosen = feature.get("chosen") === true;
  const mark = new Style({ image: sign(as as SignName, chosen) });
  const side = words.at(resolution).sides.get(String(feature.get("key"))) ?? (chosen ? "below" : null);
  if (side) mark.setText(new Text({ ...setAt(side, SOIL_GAP), text: String(feature.get("name")), font: `600 12px ${FONT}`, fill: fill("ink"), stroke: halo(), declutterMode: "none" }));
  return [mark];
}

function arrowStyles(feature: Looked, resolution: number): Style[] {
  const { token, dash } = STREAMS[String(feature.get("stream"))] ?? { token: "ink", dash: [] };
  const width = Number(feature.get("width"));
  const way = (feature.getGeometry() as LineString).getCoordinates();
  const [from = [0, 0], to = [0, 0]] = way.slice(-2);
  const [east, north] = [(to[0] ?? 0) - (from[0] ?? 0), (to[1] ?? 0) - (from[1] ?? 0)];
  const length = Math.hypot(east, north) || 1;
  const head = Math.max(6, 1.5 * width) * resolution;
  const end = [(to[0] ?? 0) - (east / length) * Math.min(head, length), (to[1] ?? 0) - (north / length) * Math.min(head, length)];
  const shaft = new LineString([...way.slice(0, -1), end]);
  const tip = new RegularShape({ points: 3, radius: Math.max(6, 1.5 * width), rotation: Math.atan2(east, north), rotateWithView: true, fill: new Fill({ color: faded(token, 0.75) }), declutterMode: "none" });
  return [
    new Style({ geometry: shaft, stroke: new Stroke({ color: faded("paper", 0.7), width: width + 2, lineCap: "butt" }) }),
    new Style({ geometry: shaft, stroke: new Stroke({ color: faded(token, 0.75), width, lineDash: [...dash], lineCap: "butt" }) }),
    new Style({ geometry: new Point(end), image: tip }),
  ];
}
