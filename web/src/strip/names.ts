/** Names of the lines of a strip, each on its line where no other name lies and few other lines run. Pure; in pixels. */

import type { Box } from "../charts/picture";

type Corner = readonly [number, number];

export interface NamedLine {
  readonly text: string;
  readonly kind: string;
  readonly points: readonly Corner[];
}

export interface LineName {
  readonly text: string;
  readonly kind: string;
  readonly x: number;
  readonly y: number;
}

const LETTER = 6.6;
const [RISE, DROP] = [11, 3];
const [OVER, UNDER] = [-6, 15];
const TRIED = 24;
const DOT = " · ";
/** A name over another name is never worth it. */
const TAKEN = 1000;

interface Room {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** A name for each line that has room for one; the first lines choose first. A strict choice takes no place on a line. */
export function lineNames(lines: readonly NamedLine[], box: Box, strict = false): LineName[] {
  const rooms: Room[] = [];
  const drawn = lines.map(({ points }) => columnsOf(points, box));
  return lines.flatMap(({ text, kind, points }): LineName[] => {
    let best: { cost: number; x: number; y: number; room: Room } | null = null;
    for (const [x, height] of tried(points, box, text)) {
      for (const off of [OVER, UNDER]) {
        const room = roomOf(text, x, height + off);
        if (room.top < box.top || room.bottom > box.bottom || room.right > box.right) continue;
        const cost = rooms.filter((other) => overlap(room, other)).length * TAKEN + drawn.filter((columns) => crosses(columns, room)).length;
        if (best === null || cost < best.cost) best = { cost, x, y: height + off, room };
      }
    }
    if (best === null || best.cost >= (strict ? 1 : TAKEN)) return [];
    rooms.push(best.room);
    return [{ text, kind, x: best.x, y: best.y }];
  });
}

function tried(points: readonly Corner[], box: Box, text: string): Corner[] {
  const inside = points.filter(([x]) => x > box.left + 6 && x + text.length * LETTER < box.right);
  const every = Math.max(1, Math.floor(inside.length / TRIED));
  return inside.filter((_, at) => at % every === 0);
}

function roomOf(text: string, x: number, y: number): Room {
  return { left: x, right: x + text.length * LETTER, top: y - RISE, bottom: y + DROP };
}

function overlap(one: Room, other: Room): boolean {
  return one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
}

/** Of a line: its highest and its lowest pixel in each column of pixels from the left of a box. */
interface Columns {
  readonly left: number;
  readonly tops: Float32Array;
  readonly bottoms: Float32Array;
}

/** Which pixels a line runs through: many rooms are asked about the same few lines. */
function columnsOf(points: readonly Corner[], box: Box): Columns {
  const count = Math.max(0, Math.ceil(box.right - box.left));
  const [tops, bottoms] = [new Float32Array(count).fill(Infinity), new Float32Array(count).fill(-Infinity)];
  points.forEach(([x, y], at) => {
    const [fromX, fromY] = points[at - 1] ?? [x, y];
    const last = Math.min(Math.floor(Math.max(x, fromX) - box.left), count - 1);
    for (let column = Math.max(Math.floor(Math.min(x, fromX) - box.left), 0); column <= last; column += 1) {
      tops[column] = Math.min(tops[column] as number, y, fromY);
      bottoms[column] = Math.max(bottoms[column] as number, y, fromY);
    }
  });
  return { left: box.left, tops, bottoms };
}

/** Whether a line runs through a room. */
function crosses({ left, tops, bottoms }: Columns, room: Room): boolean {
  const last = Math.min(Math.floor(room.right - left), tops.length - 1);
  for (let column = Math.max(Math.floor(room.left - left), 0); column <= last; column += 1) {
    if ((tops[column] as number) <= room.bottom && (bottoms[column] as number) >= room.top) return true;
  }
  return false;
}

/** A reading in as many lines as a width wants, broken at its dots. */
export function inLines(words: string, width: number): string[] {
  return words.split(DOT).reduce<string[]>((lines, part) => {
    const last = lines.at(-1);
    if (last === undefined || (last.length + DOT.length + part.length) * LETTER > width) return [...lines, part];
    return [...lines.slice(0, -1), `${last}${DOT}${part}`];
  }, []);
}
