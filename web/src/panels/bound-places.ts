/** Places of lines as text, one place on a line: east, then north. */

import type { Place, ShownUnits } from "../api/types";
import { NotRead, format, parse } from "../format/units";
import { say } from "../format/words";
import type { SitePoint } from "../geometry/types";
import { placeThrough, pointsThrough } from "../plan/line-kinds";

/** Text of the places that a place was drawn through. */
export function textOfPlace(place: Place, units: ShownUnits): string {
  return pointsThrough(place).map((point) => lineOf(point, units)).join("\n");
}

/**
 * Place of a text; throws NotRead with one sentence that names the line.
 *
 * A line that reads as it was written keeps the place that it was written from, to the last digit.
 */
export function placeOfText(text: string, closed: boolean, units: ShownUnits, before: Place | null = null): Place {
  const known = new Map((before ? pointsThrough(before) : []).map((point) => [lineOf(point, units), point]));
  const lines = text.split("\n").map((line) => line.trim());
  const points = lines.flatMap((line, at) => (line === "" ? [] : [known.get(line) ?? pointOf(line, at + 1, units)]));
  if (points.length === 0) throw new NotRead(say("bounds.noPlaces"));
  return placeThrough(points, closed);
}

function lineOf([east, north]: SitePoint, units: ShownUnits): string {
  return `${format(east, "length", units)}, ${format(north, "length", units)}`;
}

function pointOf(line: string, number: number, units: ShownUnits): SitePoint {
  const parts = partsOf(line);
  if (parts.length !== 2) throw new NotRead(say("bounds.badLine", { number, line }));
  try {
    const [east, north] = parts.map((part) => parse(part, "length", units).value);
    return [east as number, north as number];
  } catch (fault) {
    if (fault instanceof NotRead) throw new NotRead(say("bounds.badPlace", { number, why: fault.message }));
    throw fault;
  }
}

/** Two lengths of a line: parted by a tab or semicolon, else by a comma and a space, else by a space. */
function partsOf(line: string): string[] {
  const parted = [/[\t;]/, /,\s+/, /\s+/, /,/].map((between) => line.split(between).map((part) => part.trim()).filter(Boolean));
  return parted.find((parts) => parts.length === 2) ?? [line];
}
