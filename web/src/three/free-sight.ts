/** Whether a place is seen from another over the ground that is drawn. Pure; metres. */

import type { Corner3 } from "./built";
import type { Ground } from "./terrain";

/** The ground is looked at so often on the way [m], and at most so many times. */
const STEP = 0.5;
const MOST = 200;

/** Whether the straight line between two places stays over the ground. */
export function isFree([east, north, up]: Corner3, to: Corner3, ground: Ground): boolean {
  const [x, y, z] = [to[0] - east, to[1] - north, to[2] - up];
  const steps = Math.min(MOST, Math.ceil(Math.hypot(x, y) / STEP));
  for (let step = 1; step < steps; step += 1) {
    const share = step / steps;
    if (ground(east + share * x, north + share * y) > up + share * z) return false;
  }
  return true;
}
