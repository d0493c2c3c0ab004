/** What stands on the plan before the words of shots and things are written: pegs, flags, marks. */

import type { Thing } from "../../api/types";
import { FLAG_BOX, MARK_BOX, PEG_BOX, type Taken, underBox } from "../labels";
import { drawnPlace } from "../places";
import { pegPoint, ringsOf } from "../rings";
import { flagsOf } from "./flags";
import type { Desk } from "./layer";

/** Pegs and flags, as they stand when nothing is in the hand: words do not dance in a drag. */
export function standing({ session, shown }: Desk): readonly Taken[] {
  const job = session.job.value;
  const pegs = job && shown.layers.pegs.value ? ringsOf(job).flatMap((ring) => ring.curve.pegs.map((peg): Taken => ({ point: pegPoint(peg), box: PEG_BOX }))) : [];
  const flags = shown.layers.checks.value ? flagsOf(session.checks.value).map(({ point }): Taken => ({ point, box: FLAG_BOX })) : [];
  return [...pegs, ...flags];
}

/** Things with their marks and names. */
export function thingsTaken({ session, shown }: Desk): readonly Taken[] {
  const job = session.job.value;
  if (job === null || !shown.layers.things.value) return [];
  return Object.entries(job.site.things ?? {}).flatMap(([id, thing]: [string, Thing]): Taken[] => {
    const drawn = drawnPlace(job, thing.place);
    return drawn?.as === "point" ? [{ point: drawn.point, box: MARK_BOX }, { point: drawn.point, box: underBox(thing.name || id, "below") }] : [];
  });
}
