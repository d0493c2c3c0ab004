/** The storage curve of a body in a frame. Pure; house units. */

import type { Field } from "../api/frame";
import { rowsOf } from "./fields";

export interface Stored {
  readonly level: number;
  readonly volume: number;
  readonly area: number;
}

/** The storage curve of a body. */
export function curveOf(fields: readonly Field[], body: string): Stored[] {
  const own = fields.find(({ head }) => head.body === body) ?? null;
  return rowsOf(own).map(([level = 0, volume = 0, area = 0]) => ({ level, volume, area }));
}
