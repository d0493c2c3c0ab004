/** A haul in words. */

import type { Job, ShownUnits } from "../api/types";
import { format } from "../format/units";
import { type Haul, placeOfEnd } from "./hauls";
import { say } from "./say";
import { soilPlace } from "./soil-places";

/** What goes there, how far, and where to. */
export function saysOfHaul(haul: Haul, job: Job, units: ShownUnits): string {
  const { kind, id } = placeOfEnd(haul.end);
  const place = kind === "placed" ? say("plan.haul.placed") : (soilPlace(job, kind, id)?.name ?? id);
  const stream = say(`plan.haul.${haul.stream as "soil"}`);
  return say("plan.haul", { volume: format(haul.volume, "soil volume", units), stream, place, way: format(haul.work / haul.volume, "length", units) });
}
