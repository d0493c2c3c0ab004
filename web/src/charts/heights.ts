/** The two heights that a hand can take hold of, the water level and the freeboard: what moving them means. */

import type { Body, Job, ShownUnits } from "../api/types";
import type { Op } from "../state/ops";
import { pointer } from "../state/ops";
import { roundStep } from "./scale";

const FINEST: Readonly<Record<ShownUnits, number>> = { metric: 0.001, us: 0.003048, us_inch: 0.003175 };
const KEYED: Readonly<Record<ShownUnits, number>> = { metric: 0.005, us: 0.003048, us_inch: 0.003175 };

/** Water level of a body as it is shown: typed or dragged, else as the server worked it out. */
export function levelOf(job: Job | null, figures: Readonly<Record<string, number>>, body: string): number | null {
  return job?.shape.bodies?.[body]?.level ?? figures[`shape.shore.bodies.${body}.level`] ?? null;
}

/** Freeboard of a body's berm as it is shown: typed or dragged, else what the server's crest stands over its level. */
export function freeboardOf(job: Job | null, figures: Readonly<Record<string, number>>, body: string): number | null {
  const typed = bermOf(job, body)?.[1].freeboard;
  if (typed !== undefined && typed !== null) return typed;
  const crest = figures[`shape.shore.bodies.${body}.crest_level`];
  const level = figures[`shape.shore.bodies.${body}.level`];
  return crest === undefined || level === undefined ? null : Number((crest - level).toFixed(6));
}

/** Set the water level of a body by hand; it is then no longer kept balanced. */
export function levelOps(job: Job, body: string, level: number): Op[] {
  const row: Body | undefined = job.shape.bodies?.[body];
  const path = pointer("shape", "bodies", body);
  const set: Op = { op: "replace", path: `${path}/level`, value: level };
  return row?.keep_balanced ? [set, { op: "replace", path: `${path}/keep_balanced`, value: false }] : [set];
}

/** Set the freeboard of a body's berm; a body without one gets one. */
export function freeboardOps(job: Job, body: string, freeboard: number): Op[] {
  const own = bermOf(job, body);
  if (own) return [{ op: "replace", path: `${pointer("shape", "berms", own[0])}/freeboard`, value: freeboard }];
  return [{ op: "add", path: pointer("shape", "berms", freeId(job, body)), value: { body, freeboard } }];
}

/** Height after moving a hand up by pixels, on a step that can be read at this scale. */
export function dragged(start: number, pixelsUp: number, metresPerPixel: number, shown: ShownUnits): number {
  const step = roundStep(Math.max(metresPerPixel / 2, FINEST[shown]), shown);
  return onStep(start + pixelsUp * metresPerPixel, step);
}

/** Height after a key, or null when the key does not move it. */
export function keyed(value: number, key: string, large: boolean, shown: ShownUnits): number | null {
  const ways: Readonly<Record<string, number>> = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 };
  const way = ways[key];
  if (way === undefined) return null;
  const step = KEYED[shown];
  return onStep(value + way * (large && Math.abs(way) === 1 ? 10 : 1) * step, step);
}

/** Nearest multiple of a step, without the noise of the division. */
export function onStep(value: number, step: number): number {
  return Number((Math.round(value / step) * step).toFixed(6));
}

function bermOf(job: Job | null, body: string) {
  return Object.entries(job?.shape.berms ?? {}).find(([, berm]) => berm.body === body);
}

function freeId(job: Job, body: string): string {
  const taken = job.shape.berms ?? {};
  const first = `${body.slice(0, 32)}_berm`;
  if (!(first in taken)) return first;
  for (let count = 2; ; count += 1) {
    if (!(`${first}${count}` in taken)) return `${first}${count}`;
  }
}
