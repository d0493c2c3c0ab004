/** Houses, sheds, fences, and trees and heaps whose height is told, as the model looks past them, for the view in the round. Pure; metres. */

import type { Job, Thing } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { distance, isInside, nearestOnLine } from "../plan/plane";
import { drawnPlace } from "../plan/places";
import type { Corner3, Face } from "./built";
import type { Spot } from "./seats";
import type { Ground } from "./terrain";

/** How high things are whose rows tell no height, as the model takes them [m]. */
const HEIGHTS: Readonly<Record<string, number>> = { house: 5, structure: 2.5, fence: 1.2 };
/** Of these only what has a height hides anything. */
const MAY_HIDE: ReadonlySet<string> = new Set([...Object.keys(HEIGHTS), "tree", "stone_pile", "soil_pile"]);
/** Tops of these follow the ground; that of a house is level. */
const GROWS: ReadonlySet<string> = new Set(["fence", "tree"]);
/** Corners of a thing that is told by its place and its width alone. */
const CORNERS = 12;
/** A line that follows the ground is bent so often [m]. */
const PIECE = 2;
/** A window looks out of the house that is no farther away [m]. */
const OWN_HOUSE = 1;

/** Faces of what stands on the site. Who looks from a spot does not see the house or the crown that is round it. */
export function thingFaces(job: Job, ground: Ground, isDrawn: (east: number, north: number) => boolean, from: Spot | null): Face[] {
  const faces = Object.values(job.site.things ?? {}).flatMap((thing) => {
    const high = heightOf(thing);
    const outline = high > 0 ? outlineOf(job, thing) : null;
    if (outline === null || (from && isRound(from, thing, outline))) return [];
    return thing.kind !== "fence" && outline.closed ? block(outline.line, high, GROWS.has(thing.kind), ground) : screen(outline.line, high, ground);
  });
  // Beyond the ground that is drawn a thing would stand in the air.
  return faces.filter((face) => face.every(([east, north]) => isDrawn(east, north)));
}

function heightOf(thing: Thing): number {
  if (!MAY_HIDE.has(thing.kind) || thing.status === "remove") return 0;
  return thing.height ?? HEIGHTS[thing.kind] ?? 0;
}

interface Outline {
  readonly line: readonly SitePoint[];
  readonly closed: boolean;
}

function outlineOf(job: Job, { place, size }: Thing): Outline | null {
  const drawn = drawnPlace(job, place);
  if (drawn?.as === "line") return { line: drawn.line, closed: false };
  if (drawn?.as === "ring") return { line: [...drawn.ring, ...drawn.ring.slice(0, 1)], closed: true };
  if (drawn?.as !== "point" || !size) return null;
  const line = Array.from({ length: CORNERS + 1 }, (_, at): SitePoint => {
    const angle = (2 * Math.PI * at) / CORNERS;
    return [drawn.point[0] + (size / 2) * Math.cos(angle), drawn.point[1] + (size / 2) * Math.sin(angle)];
  });
  return { line, closed: true };
}

function isRound({ kind, eye: [east, north] }: Spot, thing: Thing, { line, closed }: Outline): boolean {
  const ownHouse = thing.kind === "house" && kind === "window";
  if (!ownHouse && thing.kind !== "tree") return false;
  const here: SitePoint = [east, north];
  return (closed && isInside(line, here)) || (ownHouse && (nearestOnLine(line, here)?.distance ?? Infinity) <= OWN_HOUSE);
}

/** A block over its outline with a level top, or one as high over the ground all round. */
function block(line: readonly SitePoint[], high: number, follows: boolean, ground: Ground): Face[] {
  const feet = line.map((point) => ground(...point));
  const level = Math.max(...feet) + high;
  const tops = feet.map((foot) => (follows ? foot + high : level));
  const middle = meanOf(line.slice(0, -1));
  const roof = tops.reduce((sum, top) => sum + top, 0) / tops.length;
  return line.slice(1).flatMap((to, at): Face[] => {
    const from = line[at] as SitePoint;
    const [here, there]: readonly [Corner3, Corner3] = [[...from, tops[at] as number], [...to, tops[at + 1] as number]];
    return [
      [[...from, feet[at] as number], [...to, feet[at + 1] as number], there, here],
      [here, there, [...middle, roof], [...middle, roof]],
    ];
  });
}

function screen(line: readonly SitePoint[], high: number, ground: Ground): Face[] {
  return line.slice(1).flatMap((to, at): Face[] => {
    const from = line[at] as SitePoint;
    const count = Math.max(1, Math.ceil(distance(from, to) / PIECE));
    const mix = (share: number): SitePoint => [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
    return Array.from({ length: count }, (_, piece): Face => {
      const [left, right] = [mix(piece / count), mix((piece + 1) / count)];
      const [one, other] = [ground(...left), ground(...right)];
      return [[...left, one], [...right, other], [...right, other + high], [...left, one + high]];
    });
  });
}

function meanOf(points: readonly SitePoint[]): SitePoint {
  const sum = points.reduce<SitePoint>(([east, north], point) => [east + point[0], north + point[1]], [0, 0]);
  return [sum[0] / points.length, sum[1] / points.length];
}
