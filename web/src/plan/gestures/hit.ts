/** What lies under a press. */

import type { Job, Place } from "../../api/types";
import { nearestOnCurve } from "../../geometry/nearest";
import type { SitePoint } from "../../geometry/types";
import { drawnPlace, shotPoint } from "../places";
import { distance, isInside, nearestOnLine } from "../plane";
import { OUTER, type Ring, pegPoint, ringsOf, sampledRing, spansOfRing } from "../rings";

export interface PegHit {
  readonly ring: Ring;
  readonly peg: string;
  readonly point: SitePoint;
}

export function pegAt(job: Job, place: SitePoint, within: number): PegHit | null {
  let best: PegHit | null = null;
  let least = within;
  for (const ring of ringsOf(job)) {
    for (const peg of ring.curve.pegs) {
      const away = distance(pegPoint(peg), place);
      if (away > least) continue;
      best = { ring, peg: peg.id, point: pegPoint(peg) };
      least = away;
    }
  }
  return best;
}

export interface CurveHit {
  readonly ring: Ring;
  /** Number of the peg after which the place lies. */
  readonly after: number;
  readonly point: SitePoint;
}

export function curveAt(job: Job, place: SitePoint, within: number): CurveHit | null {
  let best: CurveHit | null = null;
  let least = within;
  for (const ring of ringsOf(job)) {
    const on = nearestOnCurve(spansOfRing(ring), place);
    if (on === null || on.distance > least) continue;
    best = { ring, after: on.peg, point: on.point };
    least = on.distance;
  }
  return best;
}

export function islandAt(job: Job, place: SitePoint): Ring | null {
  return ringsOf(job).find((ring) => ring.ring !== OUTER && isInside(sampledRing(ring)?.points ?? [], place)) ?? null;
}

/** Body whose water is at a place. */
export function bodyAt(job: Job, place: SitePoint): string | null {
  const at = ringsOf(job).find((ring) => ring.ring === OUTER && !ring.open && isInside(sampledRing(ring)?.points ?? [], place));
  return at?.body ?? null;
}

export function shotAt(job: Job, place: SitePoint, within: number): string | null {
  let best: string | null = null;
  let least = within;
  for (const [id, shot] of Object.entries(job.site.shots ?? {})) {
    const point = shotPoint(shot);
    const away = point ? distance(point, place) : Infinity;
    if (away > least) continue;
    best = id;
    least = away;
  }
  return best;
}

export function probeAt(job: Job, place: SitePoint, within: number): { readonly id: string; readonly point: SitePoint } | null {
  let best: { readonly id: string; readonly point: SitePoint } | null = null;
  let least = within;
  for (const [id, { place: own }] of Object.entries(job.site.probes ?? {})) {
    const point: SitePoint = [own.east, own.north];
    const away = distance(point, place);
    if (away > least) continue;
    best = { id, point };
    least = away;
  }
  return best;
}

export function thingAt(job: Job, place: SitePoint, within: number): string | null {
  return rowAt(job, job.site.things ?? {}, place, within);
}

/** Line not to cross under a press. */
export function boundAt(job: Job, place: SitePoint, within: number): string | null {
  return rowAt(job, job.site.bounds ?? {}, place, within);
}

function rowAt(job: Job, rows: Readonly<Record<string, { readonly place: Place }>>, place: SitePoint, within: number): string | null {
  let best: string | null = null;
  let least = within;
  for (const [id, row] of Object.entries(rows)) {
    const drawn = drawnPlace(job, row.place);
    if (drawn === null) continue;
    const away =
      drawn.as === "point"
        ? distance(drawn.point, place)
        : (nearestOnLine(drawn.as === "line" ? drawn.line : [...drawn.ring, ...drawn.ring.slice(0, 1)], place)?.distance ?? Infinity);
    if (away > least) continue;
    best = id;
    least = away;
  }
  return best;
}
