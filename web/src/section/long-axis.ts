/** The section that is cut when nobody has drawn one: through the deepest place along the long axis. Pure. */

import type { Field, FrameGrid } from "../api/frame";
import { valueOf } from "../api/frame";
import type { SitePoint } from "../geometry/types";

/** Ground shown beyond the shore: a share of the water's length, and at least so much [m]. */
const BEYOND_SHARE = 0.12;
const BEYOND_LEAST = 3;

/** Place of the greatest depth on a grid, or null where there is no water. */
export function deepestPlace(depth: Field, grid: FrameGrid): SitePoint | null {
  let best = -1;
  let most = 0;
  for (let at = 0; at < depth.data.length; at += 1) {
    const here = valueOf(depth, at);
    if (here > most) {
      most = here;
      best = at;
    }
  }
  if (best < 0) return null;
  const columns = depth.shape[1] ?? grid.columns;
  const [row, column] = [Math.floor(best / columns), best % columns];
  return [grid.origin_east + column * grid.spacing, grid.origin_north + row * grid.spacing];
}

/** Line through a place along the long axis of a ring, a little beyond the shore at both ends. */
export function longSection(ring: readonly SitePoint[], through: SitePoint | null): readonly [SitePoint, SitePoint] | null {
  if (ring.length < 3) return null;
  const { middle, direction } = axisOf(ring);
  const place = through && inside(ring, through) ? through : middle;
  const along = ring.map(([east, north]) => (east - place[0]) * direction[0] + (north - place[1]) * direction[1]);
  const [low, high] = [Math.min(...along), Math.max(...along)];
  const beyond = Math.max(BEYOND_LEAST, BEYOND_SHARE * (high - low));
  const at = (distance: number): SitePoint => [
    toCentimetre(place[0] + distance * direction[0]),
    toCentimetre(place[1] + distance * direction[1]),
  ];
  // From left to right on the plan, so that the cut reads the way the plan does.
  const ends = [at(low - beyond), at(high + beyond)] as const;
  return direction[0] >= 0 ? ends : [ends[1], ends[0]];
}

/** Whether a point lies in a ring, by the even-odd rule. */
export function inside(ring: readonly SitePoint[], [east, north]: SitePoint): boolean {
  let within = false;
  ring.forEach(([x, y], at) => {
    const [nextX, nextY] = ring[(at + 1) % ring.length] as SitePoint;
    if (y > north !== nextY > north && east < x + ((north - y) / (nextY - y)) * (nextX - x)) within = !within;
  });
  return within;
}

/** Middle of a ring's line, and the direction along which it spreads most. */
function axisOf(ring: readonly SitePoint[]): { middle: SitePoint; direction: SitePoint } {
  let [weight, east, north, square, cross, other] = [0, 0, 0, 0, 0, 0];
  const pieces = ring.map((from, at) => {
    const to = ring[(at + 1) % ring.length] as SitePoint;
    return { x: (from[0] + to[0]) / 2, y: (from[1] + to[1]) / 2, length: Math.hypot(to[0] - from[0], to[1] - from[1]) };
  });
  for (const { x, y, length } of pieces) {
    weight += length;
    east += length * x;
    north += length * y;
  }
  const middle: SitePoint = [east / weight, north / weight];
  for (const { x, y, length } of pieces) {
    const [dx, dy] = [x - middle[0], y - middle[1]];
    square += length * dx * dx;
    cross += length * dx * dy;
    other += length * dy * dy;
  }
  const turn = 0.5 * Math.atan2(2 * cross, square - other);
  return { middle, direction: [Math.cos(turn), Math.sin(turn)] };
}

function toCentimetre(value: number): number {
  return Math.round(value * 100) / 100;
}
