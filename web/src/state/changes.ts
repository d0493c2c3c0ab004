/** Changes of a job as operations: one property, one row, or one whole list each. */

import { notice } from "./desk";
import { say } from "../format/words";
import type { Berm, Body, Curve, Job } from "../api/types";
import { type Json, type Op, pointer, valueAtPath } from "./ops";
import { CannotChange, type Session } from "./session";

export const OUTER = "outer";

/** Set a property; null takes it out, so that its stated default holds. */
export function setOps(job: Job, keys: readonly string[], value: Json): Op[] {
  const path = pointer(...keys);
  const before = valueAtPath(job as unknown as Json, path);
  if (value !== null) return [{ op: "add", path, value }];
  return before === undefined || before === null ? [] : [{ op: "remove", path }];
}

/** Set a property of a body's berm, which gets its row with the first one. */
export function bermOps(job: Job, body: string, property: keyof Berm, value: number | null): Op[] {
  const own = Object.entries(job.shape.berms ?? {}).find(([, berm]) => berm.body === body);
  if (own) return setOps(job, ["shape", "berms", own[0], property], value);
  if (value === null) return [];
  const id = newId(body, job.shape.berms ?? {});
  return [{ op: "add", path: pointer("shape", "berms", id), value: { body, [property]: value } }];
}

/** Id that no row has yet: the word itself, or with the next number. */
export function newId(word: string, rows: Readonly<Record<string, unknown>>): string {
  if (!(word in rows)) return word;
  let number = 2;
  while (`${word}_${number}` in rows) number += 1;
  return `${word}_${number}`;
}

/** Ids `s1`, `s2` … after the highest that is there. */
export function nextIds(letter: string, rows: Readonly<Record<string, unknown>>, count: number): string[] {
  const numbers = Object.keys(rows).map((id) => Number(new RegExp(`^${letter}(\\d+)$`).exec(id)?.[1] ?? 0));
  const last = Math.max(0, ...numbers);
  return Array.from({ length: count }, (_, at) => `${letter}${last + at + 1}`);
}

/** Curve of a ring of a body: its shore, or an island. */
export function curveOf(body: Body, ring: string): Curve | null {
  return ring === OUTER ? body.outline.curve : (body.islands?.[ring] ?? null);
}

/** Path of the curve of a ring. */
export function curvePath(body: string, ring: string): string[] {
  const own = ["shape", "bodies", body];
  return ring === OUTER ? [...own, "outline", "curve"] : [...own, "islands", ring];
}

/** Put a whole curve in the place of a ring's curve. */
export function curveOps(job: Job, body: string, ring: string, curve: Curve): Op[] {
  const whole = curve as unknown as Json;
  if (ring !== OUTER) return [{ op: "replace", path: pointer(...curvePath(body, ring)), value: whole }];
  const outline = { ...(job.shape.bodies?.[body]?.outline as object), curve: whole } as Json;
  return [{ op: "replace", path: pointer("shape", "bodies", body, "outline"), value: outline }];
}

/** Make a change, or say in one sentence why it cannot be made. */
export function attempt(session: Session, label: string, ops: readonly Op[]): boolean {
  if (ops.length === 0) return true;
  return tried(() => session.commit(label, ops));
}

/** Undo or redo, or say why it cannot be done. */
export function tried(change: () => void): boolean {
  try {
    change();
    return true;
  } catch (fault) {
    if (!(fault instanceof CannotChange)) throw fault;
    notice.value = say("job.cannot", { why: fault.message });
    return false;
  }
}
