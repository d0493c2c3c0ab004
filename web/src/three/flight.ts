/** The way of the eye from one look to another. Pure. */

import type { Corner3 } from "./built";

/** Where a picture is taken from. */
export interface Pose {
  /** From the middle of the scene [m]. */
  readonly place: Corner3;
  /** Direction of the look, of length 1. */
  readonly ahead: Corner3;
  /** How much of the upright it takes in [rad]. */
  readonly upright: number;
  /** How much larger heights are drawn than lengths. */
  readonly factor: number;
}

/** How long the way takes [ms]. */
export const FLIGHT = 700;

/** Where the eye is after a share of its way: it starts and ends slowly. */
export function flown(from: Pose, to: Pose, share: number): Pose {
  const run = Math.min(Math.max(share, 0), 1);
  const done = run * run * (3 - 2 * run);
  const mix = (one: number, other: number): number => one + done * (other - one);
  const ahead = [0, 1, 2].map((axis) => mix(from.ahead[axis] as number, to.ahead[axis] as number));
  const length = Math.hypot(...ahead) || 1;
  return {
    place: [0, 1, 2].map((axis) => mix(from.place[axis] as number, to.place[axis] as number)) as unknown as Corner3,
    ahead: ahead.map((part) => part / length) as unknown as Corner3,
    upright: mix(from.upright, to.upright),
    factor: mix(from.factor, to.factor),
  };
}
