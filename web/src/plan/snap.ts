/** A place close to something takes the place of it, and says of what. */

import type { Job } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { drawnPlace, shotPoint, surveyLinePoints } from "./places";
import { distance, nearestOnLine } from "./plane";
import { type RingName, pegPoint, ringsOf } from "./rings";
import { say } from "./say";

export interface Snapped {
  readonly point: SitePoint;
  /** What it lies on, in words. */
  readonly says: string;
}

const MOUSE_PX = 8;
const TOUCH_PX = 16;

/** How near is near, in metres. */
export function reach(metresPerPixel: number, coarse: boolean): number {
  return metresPerPixel * (coarse ? TOUCH_PX : MOUSE_PX);
}

/** The thing that a place lies on: points go before lines. `except` is the ring in hand. */
export function snapped(job: Job, place: SitePoint, within: number, except: RingName | null = null): Snapped | null {
  return nearest(pointsOf(job, except), place, within) ?? nearestLine(job, place, within);
}

function* pointsOf(job: Job, except: RingName | null): Generator<Snapped> {
  for (const { body, ring, curve } of ringsOf(job)) {
    if (except?.body === body && except.ring === ring) continue;
    for (const peg of curve.pegs) yield { point: pegPoint(peg), says: say("plan.on.peg", { id: peg.id }) };
  }
  for (const [id, shot] of Object.entries(job.site.shots ?? {})) {
    const point = shotPoint(shot);
    if (point) yield { point, says: say("plan.on.shot", { id }) };
  }
  for (const [id, thing] of Object.entries(job.site.things ?? {})) {
    const drawn = drawnPlace(job, thing.place);
    if (drawn?.as === "point") yield { point: drawn.point, says: say("plan.on.thing", { name: thing.name || id }) };
  }
}

function nearest(candidates: Iterable<Snapped>, place: SitePoint, within: number): Snapped | null {
  let best: Snapped | null = null;
  let least = within;
  for (const one of candidates) {
    const away = distance(one.point, place);
    if (away > least) continue;
    best = one;
    least = away;
  }
  return best;
}

function nearestLine(job: Job, place: SitePoint, within: number): Snapped | null {
  let best: Snapped | null = null;
  let least = within;
  for (const { line, name } of linesOf(job)) {
    const on = nearestOnLine(line, place);
    if (on === null || on.distance > least) continue;
    best = { point: on.point, says: say("plan.on.line", { name }) };
    least = on.distance;
  }
  return best;
}

function* linesOf(job: Job): Generator<{ line: readonly SitePoint[]; name: string }> {
  for (const [id, line] of Object.entries(job.site.lines ?? {})) {
    yield { line: surveyLinePoints(job, line), name: line.name || id };
  }
  for (const [id, thing] of Object.entries(job.site.things ?? {})) {
    const drawn = drawnPlace(job, thing.place);
    if (drawn?.as === "line") yield { line: drawn.line, name: thing.name || id };
    if (drawn?.as === "ring") yield { line: [...drawn.ring, drawn.ring[0] as SitePoint], name: thing.name || id };
  }
}
