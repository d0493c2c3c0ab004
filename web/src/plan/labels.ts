/**
 * Room for words: what stands on the plan before a label, and whether the label lies over it.
 *
 * Each layer keeps its own words apart; this keeps those of a shot off the pegs, the flags and the names
 * of things, which are written by others.
 */

import type { SitePoint } from "../geometry/types";

/** A box in pixels from a place, across to the right and down. */
export interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

export interface Taken {
  readonly point: SitePoint;
  readonly box: Box;
}

const LETTER = 6.2; // pixels of a letter at the size of a label, on average
const LINE = 14;

export const PEG_BOX: Box = { left: -8, top: -20, right: 30, bottom: 8 };
export const FLAG_BOX: Box = { left: -16, top: -16, right: 16, bottom: 16 };
export const MARK_BOX: Box = { left: -9, top: -9, right: 9, bottom: 9 };

/** Box of lines of words, to the right or to the left of a place. */
export function besideBox(lines: readonly string[], side: "right" | "left", gap = 5): Box {
  const width = Math.max(...lines.map((line) => line.length)) * LETTER;
  const half = (lines.length * LINE) / 2;
  return side === "right" ? { left: gap, top: -half, right: gap + width, bottom: half } : { left: -gap - width, top: -half, right: -gap, bottom: half };
}

/** Box of a line of words below or above a place. */
export function underBox(words: string, side: "below" | "above", gap = 13): Box {
  const half = (words.length * LETTER) / 2;
  const middle = side === "below" ? gap : -gap;
  return { left: -half, top: middle - LINE / 2, right: half, bottom: middle + LINE / 2 };
}

/** Whether a box at a place lies clear of all that is taken, at so many metres for a pixel. */
export function isFree(point: SitePoint, box: Box, taken: readonly Taken[], resolution: number): boolean {
  return taken.every((other) => {
    const across = (other.point[0] - point[0]) / resolution;
    const down = (point[1] - other.point[1]) / resolution;
    return box.right < across + other.box.left || box.left > across + other.box.right || box.bottom < down + other.box.top || box.top > down + other.box.bottom;
  });
}
