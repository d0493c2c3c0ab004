/** The head of one who sits: where it looks, turned by hand and keys, and how wide it sees. Pure; metres and radians. */

import type { Corner3 } from "./built";

export interface Head {
  /** Where it looks, clockwise from north [rad]. */
  readonly turn: number;
  /** How far up it looks, over the level [rad]. */
  readonly tilt: number;
  /** How much nearer things look than with the bare eye [-]. */
  readonly closer: number;
}

const TURN_STEP = Math.PI / 36;
const TILT_REACH = [-1.3, 1.3] as const;
const CLOSER_REACH = [1, 5] as const;
/** What the eye takes in at most, upright and across [rad]. */
const WIDEST = Math.PI / 3;
const WIDEST_ACROSS = Math.PI / 2;

/** Head of one who looks from an eye at a place. */
export function headTowards([east, north, up]: Corner3, at: Corner3): Head {
  const [x, y] = [at[0] - east, at[1] - north];
  return { turn: Math.atan2(x, y), tilt: clamp(Math.atan2(at[2] - up, Math.hypot(x, y)), TILT_REACH), closer: 1 };
}

/** The head turned and lifted. */
export function headTurned(head: Head, turn: number, tilt: number): Head {
  return { ...head, turn: head.turn + turn, tilt: clamp(head.tilt + tilt, TILT_REACH) };
}

/** What is looked at brought nearer by a factor; no farther than with the bare eye. */
export function headNearer(head: Head, factor: number): Head {
  return { ...head, closer: clamp(head.closer * factor, CLOSER_REACH) };
}

/** The head after a key, or null when the key does not move it; Home looks where it looked first. */
export function headByKey(head: Head, key: string, first: Head): Head | null {
  const step = TURN_STEP / head.closer;
  if (key === "ArrowLeft") return headTurned(head, -step, 0);
  if (key === "ArrowRight") return headTurned(head, step, 0);
  if (key === "ArrowUp") return headTurned(head, 0, step);
  if (key === "ArrowDown") return headTurned(head, 0, -step);
  if (key === "+" || key === "=") return headNearer(head, 1.2);
  if (key === "-") return headNearer(head, 1 / 1.2);
  return key === "Home" ? first : null;
}

/** Direction in which it looks, of length 1. */
export function aheadOf({ turn, tilt }: Head): Corner3 {
  return [Math.cos(tilt) * Math.sin(turn), Math.cos(tilt) * Math.cos(turn), Math.sin(tilt)];
}

/** How much of the upright a picture takes in, for its width by its height: a wide one shows less, so that nothing is drawn out at its sides. */
export function takesIn({ closer }: Pick<Head, "closer">, aspect: number): number {
  const half = Math.min(Math.tan(WIDEST / 2), Math.tan(WIDEST_ACROSS / 2) / aspect);
  return 2 * Math.atan(half / closer);
}

/** Turn and tilt of the head when the picture is pulled by pixels: what is under the hand stays under it. */
export function pulled(head: Head, right: number, down: number, height: number, aspect: number): Head {
  const perPixel = takesIn(head, aspect) / Math.max(height, 1);
  return headTurned(head, -right * perPixel, down * perPixel);
}

function clamp(value: number, [low, high]: readonly [number, number]): number {
  return Math.min(Math.max(value, low), high);
}
