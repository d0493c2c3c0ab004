/** The water: its area, and two thin lines along the shore as maps draw water. */

import MultiLineString from "ol/geom/MultiLineString";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import Style from "ol/style/Style";
import type { SitePoint } from "../../geometry/types";
import { fill, kept, pen } from "../ink";
import { beside, turn } from "../plane";
import { redraw } from "../redraw";
import { OUTER, type Ring, ringsOf, sampledRing } from "../rings";
import { type Desk, type PlanLayer, jobOf } from "./layer";
import { lineFeature, plain, polygonFeature } from "./vectors";

const LINING_PX = [4, 9] as const;
const area = kept(() => new Style({ fill: fill("water", 0.3) }));
const thin = kept(() => pen("waterlining"));

interface Body {
  readonly rings: readonly (readonly SitePoint[])[];
}

export function waterLayer(desk: Desk): PlanLayer {
  const source = new VectorSource();
  const layer = new VectorLayer({
    source,
    style: (feature, resolution) => {
      if (feature.get("filled") === true) return area();
      const lines = lining(feature.get("rings") as Body["rings"], resolution);
      return new Style({ geometry: new MultiLineString(lines.map(plain)), stroke: thin() });
    },
  });
  const stop = redraw(
    () => {
      return { job: jobOf(desk), ground: desk.shown.ground.value };
    },
    ({ job, ground }) => {
      source.clear(true);
      const bodies = job ? bodiesOf(ringsOf(job)) : [];
      for (const { rings } of bodies) {
        // Where the ground is coloured, the water only has its lines, so that colours do not mix.
        if (ground === "plain" || ground === "known") source.addFeature(polygonFeature(rings, { filled: true }));
        source.addFeature(lineFeature(rings[0] ?? [], { rings }));
      }
      layer.changed();
    },
  );
  return { layer, stop };
}

function bodiesOf(rings: readonly Ring[]): Body[] {
  return rings
    .filter((ring) => ring.ring === OUTER && !ring.open)
    .flatMap((outer) => {
      const all = [outer, ...rings.filter((ring) => ring.body === outer.body && ring.ring !== OUTER)];
      const drawn = all.flatMap((ring) => sampledRing(ring)?.points ?? []);
      return drawn.length === 0 ? [] : [{ rings: all.map((ring) => sampledRing(ring)?.points ?? []).filter((one) => one.length > 2) }];
    });
}

function lining(whole: Body["rings"], resolution: number): SitePoint[][] {
  // Every second place is enough for a thin line, and a quarter of the work.
  const rings = whole.map((ring) => ring.filter((_, at) => at % 2 === 0));
  return rings.flatMap((ring, at) => {
    const others = rings.filter((other) => other !== ring);
    // Inside the shore, outside the islands; to the left is inside when a ring turns to the left.
    const side = (turn(ring) > 0) === (at === 0) ? 1 : -1;
    return LINING_PX.flatMap((px) => beside(ring, side * px * resolution, others));
  });
}
