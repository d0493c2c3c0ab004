/** Where the rows of a job lie on the plan. */

import type { Cloud } from "../api/survey";
import type { Job, Place, Shot, SurveyLine } from "../api/types";
import { closedCurve } from "../geometry/curve";
import type { SitePoint } from "../geometry/types";
import { drawnShots } from "./located";
import { pegPoint, ringOf, OUTER, stretchPoints } from "./rings";

/** Place of a shot, or null when the plan does not have it. */
export function shotPoint(shot: Shot): SitePoint | null {
  const { place } = shot;
  if (place.by !== "coordinates") return null;
  const { east, north } = place as { readonly east: number; readonly north: number };
  return [east, north];
}

/** Points of a survey line in order; closed when it is a limit or a void. */
export function surveyLinePoints(job: Job, line: SurveyLine): SitePoint[] {
  const through = line.shots?.length
    ? line.shots.flatMap((id) => {
        const shot = job.site.shots?.[id];
        const point = shot ? shotPoint(shot) : null;
        return point ? [point] : [];
      })
    : (line.line ?? []).map((point): SitePoint => [point.east, point.north]);
  const [first] = through;
  return line.kind !== "break" && first ? [...through, first] : through;
}

export type Drawn =
  | { readonly as: "point"; readonly point: SitePoint }
  | { readonly as: "line"; readonly line: readonly SitePoint[] }
  | { readonly as: "ring"; readonly ring: readonly SitePoint[] };

/** What a place looks like on the plan, or null when it names a part that has no line of its own. */
export function drawnPlace(job: Job, place: Place): Drawn | null {
  if (place.at === "point") return { as: "point", point: [place.east, place.north] };
  if (place.at === "line") return { as: "line", line: place.points.map((point): SitePoint => [point.east, point.north]) };
  if (place.at === "ring") return { as: "ring", ring: ringPoints(place.curve.pegs.map(pegPoint), place.curve.pegs.map((peg) => peg.corner ?? false)) };
  if (place.at !== "stretch") return null;
  const ring = ringOf(job, { body: place.body, ring: place.ring ?? OUTER });
  const line = ring ? stretchPoints(ring, place) : [];
  return line.length > 1 ? { as: "line", line } : null;
}

/** Smallest and largest east and north of some points, or null of none. */
export function extentOf(points: readonly SitePoint[]): [number, number, number, number] | null {
  if (points.length === 0) return null;
  const box: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [east, north] of points) {
    box[0] = Math.min(box[0], east);
    box[1] = Math.min(box[1], north);
    box[2] = Math.max(box[2], east);
    box[3] = Math.max(box[3], north);
  }
  return box;
}

/** Points of a measured surface. */
export function cloudPoints({ east = [], north = [] }: Cloud): SitePoint[] {
  return east.map((each, at): SitePoint => [each, north[at] as number]);
}

/** All places of a job: shots, marks, measured surfaces, rings, things. */
export function everyPoint(job: Job): SitePoint[] {
  const shots = Object.values(drawnShots(job.site.shots ?? {})).flatMap((shot): SitePoint[] => {
    const point = shotPoint(shot);
    return point ? [point] : [];
  });
  const things = Object.values(job.site.things ?? {}).flatMap(({ place }) => pointsOfPlace(job, place));
  const marks = Object.values(job.site.marks ?? {}).flatMap(({ place }): SitePoint[] => (place ? [[place.east, place.north]] : []));
  const clouds = Object.values(job.site.clouds ?? {}).flatMap(cloudPoints);
  const built = [job.shape.ways, job.shape.mounds, job.shape.seats].flatMap((rows) => Object.values(rows ?? {}).flatMap(({ place }) => pointsOfPlace(job, place)));
  return [...built, ...shots, ...things, ...marks, ...clouds, ...shorePoints(job)];
}

function pointsOfPlace(job: Job, place: Place): readonly SitePoint[] {
  const drawn = drawnPlace(job, place);
  if (drawn === null) return [];
  return drawn.as === "point" ? [drawn.point] : drawn.as === "line" ? drawn.line : drawn.ring;
}

/** Pegs of all bodies. */
export function shorePoints(job: Job): SitePoint[] {
  return Object.values(job.shape.bodies ?? {}).flatMap((body) => body.outline.curve.pegs.map(pegPoint));
}

function ringPoints(pegs: readonly SitePoint[], corners: readonly boolean[]): readonly SitePoint[] {
  try {
    return closedCurve(pegs, corners).points;
  } catch {
    return pegs;
  }
}
