/** Reaches of streams, as the arrays `streams` of a frame tell them. */

import type { SitePoint } from "../geometry/types";
import { type Kept, linesOf } from "./fields";

export interface Reach {
  readonly body: string;
  /** Left bank downstream, then the right one back. */
  readonly ring: readonly SitePoint[];
  readonly level: number;
}

/** Reaches of the arrays `streams`. */
export function reachesOf(points: Kept, starts: Kept, levels: Kept): Reach[] {
  return linesOf(points, starts).map((ring, at) => ({
    body: starts.head.ids?.[at] ?? "",
    ring,
    level: levels.field.data[at] as number,
  }));
}

/** Both banks of a reach, each downstream. */
export function sidesOf(ring: readonly SitePoint[]): readonly [readonly SitePoint[], readonly SitePoint[]] {
  const half = ring.length / 2;
  return [ring.slice(0, half), ring.slice(half).toReversed()];
}
