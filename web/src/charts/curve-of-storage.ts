/** The storage curve of a body in a frame, and what stands at a level of it. Pure; house units. */

import type { Field } from "../api/frame";
import { rowsOf } from "./fields";

export interface Stored {
  readonly level: number;
  readonly volume: number;
  readonly area: number;
}

/** Storage curves of a frame, one for each body, in the order in which they come. */
export function curvesOf(field: Field | null): Stored[][] {
  const curves: Stored[][] = [];
  let last = Infinity;
  for (const [level = 0, volume = 0, area = 0] of rowsOf(field)) {
    if (level < last) curves.push([]);
    curves.at(-1)?.push({ level, volume, area });
    last = level;
  }
  return curves.filter((curve) => curve.length > 1);
}

/** The curve of a body: the one that ends at its lip; the first where no lip is known. */
export function curveOfBody(curves: readonly Stored[][], lip: number | undefined): readonly Stored[] {
  if (lip === undefined) return curves[0] ?? [];
  const apart = (curve: readonly Stored[]): number => Math.abs((curve.at(-1)?.level ?? Infinity) - lip);
  return curves.reduce<readonly Stored[]>((best, curve) => (best.length > 0 && apart(best) <= apart(curve) ? best : curve), []);
}

/** Volume and area at a level, on the straight line between two entries; null beyond the curve. */
export function storedAt(curve: readonly Stored[], level: number): Stored | null {
  const after = curve.findIndex((entry) => entry.level >= level);
  if (after < 0) return null;
  const to = curve[after] as Stored;
  if (after === 0) return to.level === level ? to : null;
  const from = curve[after - 1] as Stored;
  const share = (level - from.level) / (to.level - from.level);
  return { level, volume: from.volume + share * (to.volume - from.volume), area: from.area + share * (to.area - from.area) };
}
