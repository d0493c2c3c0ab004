/** How a photo lies on the plan: two ties turn, stretch and shift it; three or more also shear it. */

import type { Tie } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { distance } from "./plane";

/** east = a·across + c·down + e, north = b·across + d·down + f. */
export interface Placing {
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly d: number;
  readonly e: number;
  readonly f: number;
}

export function onSite({ a, b, c, d, e, f }: Placing, [across, down]: readonly [number, number]): SitePoint {
  return [a * across + c * down + e, b * across + d * down + f];
}

export function onPhoto({ a, b, c, d, e, f }: Placing, [east, north]: SitePoint): readonly [number, number] {
  const determinant = a * d - b * c;
  return [(d * (east - e) - c * (north - f)) / determinant, (a * (north - f) - b * (east - e)) / determinant];
}

/** Placing that fits the ties best, or null when they do not settle one. */
export function placingOf(ties: readonly Tie[]): Placing | null {
  if (ties.length < 2) return null;
  return ties.length === 2 ? turned(ties[0] as Tie, ties[1] as Tie) : sheared(ties);
}

/** Distance in metres of each tie from where the placing puts it. */
export function misses(placing: Placing, ties: readonly Tie[]): number[] {
  return ties.map((tie) => distance(onSite(placing, [tie.across, tie.down]), [tie.east, tie.north]));
}

/** A photo that is not tied yet, laid upright over a window of the plan. */
export function laidOver(width: number, height: number, middle: SitePoint, metresWide: number): Placing {
  const scale = metresWide / width;
  return { a: scale, b: 0, c: 0, d: -scale, e: middle[0] - metresWide / 2, f: middle[1] + (scale * height) / 2 };
}

function turned(one: Tie, other: Tie): Placing | null {
  // The picture's `down` runs against north, hence the signs: east = p·across + q·down, north = q·across − p·down.
  const [x, y] = [other.across - one.across, other.down - one.down];
  const [east, north] = [other.east - one.east, other.north - one.north];
  const square = x * x + y * y;
  if (square === 0 || (east === 0 && north === 0)) return null;
  const p = (east * x - north * y) / square;
  const q = (east * y + north * x) / square;
  return {
    a: p, b: q, c: q, d: -p,
    e: one.east - p * one.across - q * one.down,
    f: one.north - q * one.across + p * one.down,
  };
}

function sheared(ties: readonly Tie[]): Placing | null {
  const count = ties.length;
  const mean = (pick: (tie: Tie) => number): number => ties.reduce((sum, tie) => sum + pick(tie), 0) / count;
  const [x0, y0, e0, n0] = [mean((t) => t.across), mean((t) => t.down), mean((t) => t.east), mean((t) => t.north)];
  const sum = (pick: (x: number, y: number, tie: Tie) => number): number =>
    ties.reduce((total, tie) => total + pick(tie.across - x0, tie.down - y0, tie), 0);
  const [xx, xy, yy] = [sum((x) => x * x), sum((x, y) => x * y), sum((_, y) => y * y)];
  const determinant = xx * yy - xy * xy;
  // Ties on one line leave the photo free to swing about it.
  if (determinant <= 1e-9 * (xx + yy) ** 2) return null;
  const solve = (pick: (tie: Tie) => number): readonly [number, number] => {
    const [right, below] = [sum((x, _y, tie) => x * pick(tie)), sum((_x, y, tie) => y * pick(tie))];
    return [(right * yy - below * xy) / determinant, (below * xx - right * xy) / determinant];
  };
  const [a, c] = solve((tie) => tie.east - e0);
  const [b, d] = solve((tie) => tie.north - n0);
  return { a, b, c, d, e: e0 - a * x0 - c * y0, f: n0 - b * x0 - d * y0 };
}
