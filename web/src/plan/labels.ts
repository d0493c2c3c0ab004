/**
 * Room for words: what stands on the plan before a label, and on which side of its place a label lies clear of it.
 *
 * The layers are drawn by themselves, but their words share one sheet: the words of the whole plan are
 * placed in one go, the more important first, and each layer writes its own where it was told to.
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
  /** It stands there where a pixel is at most so many metres; always when nothing is said. */
  readonly from?: number;
}

const LETTER = 6.2; // pixels of a letter at the size of a label, on average
export const LINE = 14;

export const PEG_BOX: Box = { left: -8, top: -20, right: 30, bottom: 8 };
export const DOT_BOX: Box = { left: -6, top: -6, right: 6, bottom: 6 };
export const FLAG_BOX: Box = { left: -16, top: -16, right: 16, bottom: 16 };
export const SMALL_BOX: Box = { left: -7, top: -7, right: 7, bottom: 7 };
export const MARK_BOX: Box = { left: -9, top: -9, right: 9, bottom: 9 };
export const RING_BOX: Box = { left: -14, top: -14, right: 14, bottom: 14 };

/** Where words stand: beside their place, under or over it, or on it. */
export type Side = "right" | "left" | "below" | "above" | "on";

/** Words that want to stand at a place. */
export interface Words {
  readonly key: string;
  readonly point: SitePoint;
  readonly lines: readonly string[];
  /** The same words in more lines, for where they have no room as they are. */
  readonly folded?: readonly string[];
  /** Sides in the order in which they are tried. */
  readonly sides: readonly Side[];
  /** Pixels from the place to the edge of the words. */
  readonly gap: number;
  /** They are written where a pixel is at most so many metres. */
  readonly from: number;
  /** Turn of words that run along a line, counter-clockwise. [rad] */
  readonly turn?: number;
}

/** Box of lines of words, to the right or to the left of a place. */
export function besideBox(lines: readonly string[], side: "right" | "left", gap = 5): Box {
  const width = widthOf(lines);
  // The ink of the letters ends a little within their lines.
  const half = (lines.length * LINE) / 2 - 1;
  return side === "right" ? { left: gap, top: -half, right: gap + width, bottom: half } : { left: -gap - width, top: -half, right: -gap, bottom: half };
}

/** Box of a line of words below or above a place. */
export function underBox(words: string, side: "below" | "above", gap = 13): Box {
  const half = widthOf([words]) / 2;
  const middle = side === "below" ? gap : -gap;
  return { left: -half, top: middle - LINE / 2, right: half, bottom: middle + LINE / 2 };
}

/** Box around words on a place, turned along a line. */
export function onBox(words: string, turn = 0): Box {
  const [long, high] = [widthOf([words]), LINE];
  const [across, down] = [Math.abs(Math.cos(turn)), Math.abs(Math.sin(turn))];
  const [halfWidth, halfHeight] = [(long * across + high * down) / 2, (long * down + high * across) / 2];
  return { left: -halfWidth, top: -halfHeight, right: halfWidth, bottom: halfHeight };
}

/** Whether a box at a place lies clear of all that is taken, at so many metres for a pixel. */
export function isFree(point: SitePoint, box: Box, taken: readonly Taken[], resolution: number): boolean {
  return taken.every((other) => {
    const across = (other.point[0] - point[0]) / resolution;
    const down = (point[1] - other.point[1]) / resolution;
    return box.right < across + other.box.left || box.left > across + other.box.right || box.bottom < down + other.box.top || box.top > down + other.box.bottom;
  });
}

/** All words of the plan at one scale: the side of each that has room, and everything that is then taken. */
export interface Placed {
  readonly sides: ReadonlyMap<string, Side>;
  /** Keys of those that are written in more lines. */
  readonly folded: ReadonlySet<string>;
  readonly taken: readonly Taken[];
}

/** Place words one after the other, the more important first; one for which no side has room is left out. */
export function placed(words: readonly Words[], marks: readonly Taken[], resolution: number): Placed {
  const taken = marks.filter(({ from }) => from === undefined || resolution <= from);
  const sides = new Map<string, Side>();
  const folded = new Set<string>();
  for (const one of words) {
    if (resolution > one.from) continue;
    for (const lines of [one.lines, ...(one.folded ? [one.folded] : [])]) {
      const way = { ...one, lines };
      const side = one.sides.find((each) => isFree(one.point, boxOf(way, each), taken, resolution));
      if (side === undefined) continue;
      sides.set(one.key, side);
      if (lines === one.folded) folded.add(one.key);
      taken.push({ point: one.point, box: boxOf(way, side) });
      break;
    }
  }
  return { sides, folded, taken };
}

function boxOf({ lines, gap, turn }: Words, side: Side): Box {
  if (side === "right" || side === "left") return besideBox(lines, side, gap);
  if (side === "on") return onBox(lines.join(" "), turn);
  const [half, high] = [widthOf(lines) / 2, lines.length * LINE];
  return side === "below" ? { left: -half, top: gap, right: half, bottom: gap + high } : { left: -half, top: -gap - high, right: half, bottom: -gap };
}

function widthOf(lines: readonly string[]): number {
  return Math.max(...lines.map((line) => line.length)) * LETTER;
}

/** What the layers ask: the words of the plan, placed once for each scale. */
export interface WordsOfPlan {
  at(resolution: number): Placed;
}

export function wordsOfPlan(words: readonly Words[], marks: readonly Taken[]): WordsOfPlan {
  let known: { readonly resolution: number; readonly value: Placed } | null = null;
  return {
    at(resolution) {
      if (known?.resolution !== resolution) known = { resolution, value: placed(words, marks, resolution) };
      return known.value;
    },
  };
}

const STRAIGHT = 0.25; // radians from one piece of a line to the next

/** The longest part of a line that is nearly straight: where words run along it. */
export function straightest(line: readonly SitePoint[]): readonly SitePoint[] {
  let best: readonly SitePoint[] = line.slice(0, 2);
  let start = 0;
  for (let at = 1; at < line.length; at += 1) {
    const part = line.slice(start, at + 1);
    if (lengthOf(part) > lengthOf(best)) best = part;
    if (at + 1 < line.length && bend(line[at - 1] as SitePoint, line[at] as SitePoint, line[at + 1] as SitePoint) > STRAIGHT) start = at;
  }
  return best;
}

/** Middle of a line by its length, and the turn by which words along it are read from left to right. */
export function middleAlong(line: readonly SitePoint[]): { readonly point: SitePoint; readonly turn: number } {
  let left = lengthOf(line) / 2;
  for (let at = 1; at < line.length; at += 1) {
    const [from, to] = [line[at - 1] as SitePoint, line[at] as SitePoint];
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (left > long && at + 1 < line.length) {
      left -= long;
      continue;
    }
    const share = long > 0 ? left / long : 0;
    const turn = Math.atan2(to[1] - from[1], to[0] - from[0]);
    const readable = turn > Math.PI / 2 ? turn - Math.PI : turn <= -Math.PI / 2 ? turn + Math.PI : turn;
    return { point: [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])], turn: readable };
  }
  return { point: line[0] ?? [0, 0], turn: 0 };
}

function lengthOf(line: readonly SitePoint[]): number {
  return line.slice(1).reduce((sum, [east, north], at) => sum + Math.hypot(east - (line[at] as SitePoint)[0], north - (line[at] as SitePoint)[1]), 0);
}

function bend(before: SitePoint, here: SitePoint, after: SitePoint): number {
  const turn = Math.atan2(after[1] - here[1], after[0] - here[0]) - Math.atan2(here[1] - before[1], here[0] - before[0]);
  return Math.abs(Math.atan2(Math.sin(turn), Math.cos(turn)));
}
