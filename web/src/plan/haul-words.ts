/** A haul in words. */

import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { type Haul, placeOfEnd } from "./hauls";
import { say } from "./say";
import { soilPlace } from "./soil-places";

/** What goes there, how far, and where to. */
export function saysOfHaul(haul: Haul, job: Job): string {
  const { kind, id } = placeOfEnd(haul.end);
  const place = kind === "placed" ? say("plan.haul.placed") : (soilPlace(job, kind, id)?.name ?? id);
  const stream = say(`plan.haul.${haul.stream as "soil"}`);
  return say("plan.haul", { volume: shown(haul.volume, "soil volume"), stream, place, way: shown(haul.work / haul.volume, "length") });
}
