/** Walls as upright faces, bridges and decks as level ribbons, for the view in the round. Pure; metres. */

import type { Job, Way } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { FIRST_WIDTHS } from "../plan/built";
import type { RimTold } from "../plan/lining-fields";

export type Corner3 = readonly [east: number, north: number, height: number];

/** Four corners, one after the other round the face. */
export type Face = readonly [Corner3, Corner3, Corner3, Corner3];

/** A wall is cut so often, so that its foot follows the ground [m]. */
const PIECE = 1;

/** Faces of what stands upright or spans: walls that have a top, bridges and decks that have a level. */
export function facesOf(job: Job, ground: (east: number, north: number) => number): Face[] {
  return Object.values(job.shape.ways ?? {}).flatMap((way) => {
    if (way.place.at !== "line" || way.status === "remove") return [];
    const line = way.place.points.map(({ east, north }): SitePoint => [east, north]);
    if (way.kind === "wall") return wallFaces(line, way, ground);
    return way.kind === "bridge" || way.kind === "deck" ? ribbon(line, way) : [];
  });
}

function wallFaces(line: readonly SitePoint[], { top, level }: Way, ground: (east: number, north: number) => number): Face[] {
  if (top === null || top === undefined) return [];
  const foot = ([east, north]: SitePoint): number => Math.min(level ?? ground(east, north), top);
  return pieces(line, PIECE).map(([from, to]): Face => [[...from, foot(from)], [...to, foot(to)], [...to, top], [...from, top]]);
}

function ribbon(line: readonly SitePoint[], { kind, width, level }: Way): Face[] {
  if (level === null || level === undefined) return [];
  const half = (width ?? FIRST_WIDTHS[kind]) / 2;
  return pieces(line, Infinity).map(([from, to]): Face => {
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const [x, y] = [(-(to[1] - from[1]) / long) * half, ((to[0] - from[0]) / long) * half];
    return [[from[0] + x, from[1] + y, level], [to[0] + x, to[1] + y, level], [to[0] - x, to[1] - y, level], [from[0] - x, from[1] - y, level]];
  });
}

/** Pieces of a line that are no longer than a length; what has none is left out. */
function pieces(line: readonly SitePoint[], longest: number): (readonly [SitePoint, SitePoint])[] {
  return line.slice(1).flatMap((to, at) => {
    const from = line[at] as SitePoint;
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const count = long > 0 ? Math.max(1, Math.ceil(long / longest)) : 0;
    const mix = (share: number): SitePoint => [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
    return Array.from({ length: count }, (_, piece) => [mix(piece / count), mix((piece + 1) / count)] as const);
  });
}

/** Where the liners end, ring by ring, each closed. */
export function rimLines(rims: readonly RimTold[]): Corner3[][] {
  return rims.flatMap(({ places }) =>
    [...new Set(places.map(({ ring }) => ring))].map((ring) => {
      const own = places.filter((place) => place.ring === ring);
      return [...own, ...own.slice(0, 1)].map(({ point: [east, north], edge }): Corner3 => [east, north, edge]);
    }),
  );
}
