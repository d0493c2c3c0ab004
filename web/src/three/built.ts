/** Walls, fences and lights as upright faces, bridges and decks as ribbons, paths as bands on the ground, for the view in the round. Pure; metres. */

import type { Job, Point, Way } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { FIRST_HEIGHTS, FIRST_WIDTHS, SEEN_THROUGH, lengthAlong } from "../plan/built";
import { drawnPlace } from "../plan/places";
import type { RimTold } from "../plan/lining-fields";
import type { Ground } from "./terrain";

export type Corner3 = readonly [east: number, north: number, height: number];

/** Four corners, one after the other round the face. */
export type Face = readonly [Corner3, Corner3, Corner3, Corner3];

/** A band on the ground has so many strips, is cut so often, and lies so much over the ground, which it then follows [-, m, m]. */
const STRIPS = 4;
const CUT = 0.4;
const BAND_OVER = 0.03;

/** A wall is cut so often, so that its foot follows the ground [m]. */
const PIECE = 1;

/** Posts of a fence that one sees through, and its rails, as shares of its height [m, -]. */
const POST = 0.1;
const RAILS = [[0.2, 0.32], [0.84, 0.96]] as const;
/** What stands upright, and is not walked on. */
const UPRIGHT: ReadonlySet<Way["kind"]> = new Set(["wall", "fence", "light"]);
/** A cell beside a wall the ground is looked at [m]. */
const BESIDE = 0.3;

/** Faces of what stands upright or spans: walls, fences and lights, bridges and decks that have a level. */
export function facesOf(job: Job, ground: Ground): Face[] {
  return Object.values(job.shape.ways ?? {}).flatMap((way) => {
    if (way.status === "remove") return [];
    if (way.kind === "light" && way.place.at === "point") return lamp(way.place, way, ground);
    if (way.place.at !== "line") return [];
    const line = way.place.points.map(({ east, north }): SitePoint => [east, north]);
    if (way.kind === "wall") return wallFaces(line, way, ground);
    if (way.kind === "fence") return fenceFaces(line, way, ground);
    return way.kind === "bridge" || way.kind === "deck" ? ribbon(line, way) : [];
  });
}

/** Bands of what one walks on along a line: paths, steps, and what has no level of its own. */
export function bandFaces(job: Job, ground: Ground): Face[] {
  return Object.values(job.shape.ways ?? {}).flatMap((way) => {
    const spans = way.kind === "bridge" || way.kind === "deck";
    if (way.status === "remove" || way.place.at !== "line" || UPRIGHT.has(way.kind) || (spans && way.level !== null && way.level !== undefined)) return [];
    return band(way.place.points.map(({ east, north }): SitePoint => [east, north]), way.width ?? FIRST_WIDTHS[way.kind], ground);
  });
}

/** Outlines of what one walks on that is an area. */
export function areasOf(job: Job): (readonly SitePoint[])[] {
  return Object.values(job.shape.ways ?? {}).flatMap((way) => {
    const drawn = way.status === "remove" || UPRIGHT.has(way.kind) ? null : drawnPlace(job, way.place);
    return drawn?.as === "ring" ? [drawn.ring] : [];
  });
}

function band(line: readonly SitePoint[], width: number, ground: Ground): Face[] {
  const parts = pieces(line, CUT);
  const ways = parts.map(([from, to]): SitePoint => {
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    return [(to[0] - from[0]) / long, (to[1] - from[1]) / long];
  });
  const [first] = parts;
  if (!first) return [];
  // Where the line bends, the band goes on without a gap: each row of corners lies across both pieces.
  const rows = [first[0], ...parts.map(([, to]) => to)].map(([east, north], at): Corner3[] => {
    const [before, after] = [ways[Math.max(at - 1, 0)] as SitePoint, ways[Math.min(at, ways.length - 1)] as SitePoint];
    const [x, y] = [before[0] + after[0], before[1] + after[1]];
    const long = Math.hypot(x, y) || 1;
    return Array.from({ length: STRIPS + 1 }, (_, strip): Corner3 => {
      const away = (strip / STRIPS - 0.5) * width;
      const here: SitePoint = [east - (y / long) * away, north + (x / long) * away];
      return [...here, ground(...here) + BAND_OVER];
    });
  });
  return rows.slice(1).flatMap((next, at) => {
    const row = rows[at] as Corner3[];
    return Array.from({ length: STRIPS }, (_, strip): Face => [row[strip], next[strip], next[strip + 1], row[strip + 1]] as unknown as Face);
  });
}

function wallFaces(line: readonly SitePoint[], way: Way, ground: Ground): Face[] {
  const { level } = way;
  return pieces(line, PIECE).map(([from, to]): Face => {
    const tops = topsOf(from, to, way, ground);
    const foot = ([east, north]: SitePoint, top: number): number => Math.min(level ?? ground(east, north), top);
    return [[...from, foot(from, tops[0])], [...to, foot(to, tops[1])], [...to, tops[1]], [...from, tops[0]]];
  });
}

/** Tops of a piece of a wall or a fence at its two ends: as told, or over the higher ground beside it. */
function topsOf(from: SitePoint, to: SitePoint, { kind, top, height, width }: Way, ground: Ground): readonly [number, number] {
  if (top !== null && top !== undefined) return [top, top];
  const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const away = (width ?? 0) / 2 + BESIDE;
  const [x, y] = [(-(to[1] - from[1]) / long) * away, ((to[0] - from[0]) / long) * away];
  const over = ([east, north]: SitePoint): number => Math.max(ground(east, north), ground(east + x, north + y), ground(east - x, north - y)) + (height ?? FIRST_HEIGHTS[kind] ?? 0);
  return [over(from), over(to)];
}

/** A closed fence is one face; of an open one posts and rails are seen. */
function fenceFaces(line: readonly SitePoint[], way: Way, ground: Ground): Face[] {
  return pieces(line, 2 * PIECE).flatMap(([from, to]): Face[] => {
    const tops = topsOf(from, to, way, ground);
    const feet = [ground(...from), ground(...to)] as const;
    const high = (end: 0 | 1, share: number): number => feet[end] + share * (tops[end] - feet[end]);
    const band = (low: number, top: number): Face => [[...from, high(0, low)], [...to, high(1, low)], [...to, high(1, top)], [...from, high(0, top)]];
    if ((way.open_share ?? 0) < SEEN_THROUGH) return [band(0, 1)];
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const mix = (share: number): SitePoint => [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
    const post = mix(Math.min(POST / long, 1));
    return [[[...from, feet[0]], [...post, feet[0]], [...post, tops[0]], [...from, tops[0]]], ...RAILS.map(([low, top]) => band(low, top))];
  });
}

/** A light is a post with a head, as two faces square to one another. */
function lamp({ east, north }: Point, { height }: Way, ground: Ground): Face[] {
  const foot = ground(east, north);
  const top = foot + (height ?? FIRST_HEIGHTS.light ?? 0);
  const upright = (half: number, low: number, high: number): Face[] => [
    [[east - half, north, low], [east + half, north, low], [east + half, north, high], [east - half, north, high]],
    [[east, north - half, low], [east, north + half, low], [east, north + half, high], [east, north - half, high]],
  ];
  return [...upright(POST / 3, foot, top), ...upright(1.5 * POST, top - 2 * POST, top)];
}

function ribbon(line: readonly SitePoint[], { kind, width, level, end_level: end }: Way): Face[] {
  if (level === null || level === undefined) return [];
  const half = (width ?? FIRST_WIDTHS[kind]) / 2;
  const whole = lengthAlong(line);
  let station = 0;
  return pieces(line, Infinity).map(([from, to]): Face => {
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const at = (along: number): number => level + (along / whole) * ((end ?? level) - level);
    const [here, there] = [at(station), at(station + long)];
    station += long;
    const [x, y] = [(-(to[1] - from[1]) / long) * half, ((to[0] - from[0]) / long) * half];
    return [[from[0] + x, from[1] + y, here], [to[0] + x, to[1] + y, there], [to[0] - x, to[1] - y, there], [from[0] - x, from[1] - y, here]];
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
