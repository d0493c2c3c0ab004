/** Plane geometry of the drawing hand: distances, bearings, crossings, lines beside a ring. */

import type { SitePoint } from "../geometry/types";

export function distance(a: SitePoint, b: SitePoint): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

export function lengthOf(line: readonly SitePoint[]): number {
  return line.slice(1).reduce((sum, point, at) => sum + distance(line[at] as SitePoint, point), 0);
}

/** Area inside a ring, never negative. */
export function areaOf(ring: readonly SitePoint[]): number {
  return Math.abs(turn(ring)) / 2;
}

/** Bearing in radians, clockwise from grid north. */
export function bearing(from: SitePoint, to: SitePoint): number {
  const angle = Math.atan2(to[0] - from[0], to[1] - from[1]);
  return angle < 0 ? angle + 2 * Math.PI : angle;
}

export function isInside(ring: readonly SitePoint[], [east, north]: SitePoint): boolean {
  let inside = false;
  for (let at = 0, last = ring.length - 1; at < ring.length; last = at, at += 1) {
    const [e1, n1] = ring[at] as SitePoint;
    const [e2, n2] = ring[last] as SitePoint;
    if (n1 > north !== n2 > north && east < ((e2 - e1) * (north - n1)) / (n2 - n1) + e1) inside = !inside;
  }
  return inside;
}

/** Nearest place on a line of straight pieces. */
export function nearestOnLine(line: readonly SitePoint[], point: SitePoint): { point: SitePoint; distance: number } | null {
  let best: { point: SitePoint; distance: number } | null = null;
  for (let at = 1; at < line.length; at += 1) {
    const place = onPiece(line[at - 1] as SitePoint, line[at] as SitePoint, point);
    const away = distance(place, point);
    if (best === null || away < best.distance) best = { point: place, distance: away };
  }
  return best;
}

/** Places at which a line crosses itself. */
export function crossings(line: readonly SitePoint[], closed: boolean): SitePoint[] {
  if (line.length < 3) return [];
  const ends = closed ? [...line.slice(1), line[0] as SitePoint] : line.slice(1);
  const found: SitePoint[] = [];
  for (let one = 0; one < ends.length; one += 1) {
    const a = line[one] as SitePoint;
    const b = ends[one] as SitePoint;
    const [west, east] = a[0] < b[0] ? [a[0], b[0]] : [b[0], a[0]];
    const [south, north] = a[1] < b[1] ? [a[1], b[1]] : [b[1], a[1]];
    for (let other = one + 2; other < ends.length; other += 1) {
      if (closed && one === 0 && other === ends.length - 1) continue;
      const c = line[other] as SitePoint;
      const d = ends[other] as SitePoint;
      if ((c[0] < west && d[0] < west) || (c[0] > east && d[0] > east)) continue;
      if ((c[1] < south && d[1] < south) || (c[1] > north && d[1] > north)) continue;
      const place = crossing(a, b, c, d);
      if (place !== null) found.push(place);
    }
  }
  return found;
}

/**
 * Lines at a distance beside closed rings: to the left of their direction when positive.
 *
 * Points that lie nearer to some other piece of the rings than the distance asked for are left out,
 * so the lines end where they would run into one another.
 */
export function beside(ring: readonly SitePoint[], away: number, others: readonly (readonly SitePoint[])[]): SitePoint[][] {
  const count = ring.length;
  const limit = Math.abs(away) * 0.995;
  const pieces: SitePoint[][] = [];
  let piece: SitePoint[] = [];
  for (let at = 0; at <= count; at += 1) {
    const before = ring[(at + count - 1) % count] as SitePoint;
    const here = ring[at % count] as SitePoint;
    const after = ring[(at + 1) % count] as SitePoint;
    const length = distance(before, after) || 1;
    const place: SitePoint = [
      here[0] - ((after[1] - before[1]) / length) * away,
      here[1] + ((after[0] - before[0]) / length) * away,
    ];
    if ([ring, ...others].some((one) => isNearer(one, place, limit))) {
      if (piece.length > 1) pieces.push(piece);
      piece = [];
    } else piece.push(place);
  }
  if (piece.length > 1) pieces.push(piece);
  return pieces;
}

/** Twice the area of a ring: positive when it turns to the left. */
export function turn(ring: readonly SitePoint[]): number {
  return ring.reduce((sum, [east, north], at) => {
    const [nextEast, nextNorth] = ring[(at + 1) % ring.length] as SitePoint;
    return sum + east * nextNorth - nextEast * north;
  }, 0);
}

function isNearer(ring: readonly SitePoint[], [east, north]: SitePoint, limit: number): boolean {
  const square = limit * limit;
  for (let at = 0, last = ring.length - 1; at < ring.length; last = at, at += 1) {
    const a = ring[last] as SitePoint;
    const b = ring[at] as SitePoint;
    const alongEast = b[0] - a[0];
    const alongNorth = b[1] - a[1];
    const whole = alongEast * alongEast + alongNorth * alongNorth;
    const raw = whole > 0 ? ((east - a[0]) * alongEast + (north - a[1]) * alongNorth) / whole : 0;
    const share = raw < 0 ? 0 : raw > 1 ? 1 : raw;
    const awayEast = a[0] + share * alongEast - east;
    const awayNorth = a[1] + share * alongNorth - north;
    if (awayEast * awayEast + awayNorth * awayNorth < square) return true;
  }
  return false;
}

function onPiece(a: SitePoint, b: SitePoint, point: SitePoint): SitePoint {
  const along: SitePoint = [b[0] - a[0], b[1] - a[1]];
  const whole = along[0] ** 2 + along[1] ** 2;
  const raw = whole > 0 ? ((point[0] - a[0]) * along[0] + (point[1] - a[1]) * along[1]) / whole : 0;
  const share = Math.min(1, Math.max(0, raw));
  return [a[0] + share * along[0], a[1] + share * along[1]];
}

function crossing(a: SitePoint, b: SitePoint, c: SitePoint, d: SitePoint): SitePoint | null {
  const [ux, uy] = [b[0] - a[0], b[1] - a[1]];
  const [vx, vy] = [d[0] - c[0], d[1] - c[1]];
  const cross = ux * vy - uy * vx;
  if (cross === 0) return null;
  const s = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / cross;
  const t = ((c[0] - a[0]) * uy - (c[1] - a[1]) * ux) / cross;
  return s >= 0 && s <= 1 && t >= 0 && t <= 1 ? [a[0] + s * ux, a[1] + s * uy] : null;
}
