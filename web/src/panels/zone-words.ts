/** Zones of a bank in a builder's words: a step, a shelf, a slope or the floor, and where it lies. Pure. */

import type { BankType } from "../api/types";
import { say } from "../format/words";

/** A shelf falls by no more than this, down for one level. */
const SHELF = 1 / 8;
/** Less than this apart, two points of a bank stand over one another [m]. */
const UPRIGHT = 1e-9;

/** Each zone from the water's edge on; what lies beyond the bank is the floor. As the server's `zone_words`. */
export function zoneWords(points: BankType["points"]): string[] {
  let steps = 0;
  const parts = points.slice(1).map((point, at): string => {
    const before = points[at] ?? point;
    const run = point.distance - before.distance;
    if (run <= UPRIGHT) return say("zone.step", { which: ordinal(++steps) });
    const kind = say(point.depth - before.depth <= run * SHELF ? "zone.shelf" : "zone.slope");
    return steps > 0 ? say("zone.below", { kind, which: ordinal(steps) }) : say("zone.first", { kind });
  });
  const numbered = parts.map((words, at) => {
    const alike = parts.flatMap((other, place) => (other === words ? [place] : []));
    return alike.length === 1 ? words : say("zone.numbered", { which: ordinal(alike.indexOf(at) + 1), zone: words });
  });
  return [...numbered, say("zone.floor")];
}

const ORDINALS = ["zone.1", "zone.2", "zone.3", "zone.4", "zone.5"] as const;

function ordinal(number: number): string {
  const word = ORDINALS[number - 1];
  return word ? say(word) : say("zone.nth", { number });
}
