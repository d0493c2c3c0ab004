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

/** A name for each line that has room for one; the first lines choose first. */
export function lineNames(lines: readonly NamedLine[], box: Box): LineName[] {
  const rooms: Room[] = [];
  return lines.flatMap(({ text, kind, points }): LineName[] => {
    let best: { cost: number; x: number; y: number; room: Room } | null = null;
    for (const [x, height] of tried(points, box, text)) {
      for (const off of [OVER, UNDER]) {
        const room = roomOf(text, x, height + off);
        if (room.top < box.top || room.bottom > box.bottom || room.right > box.right) continue;
        const cost = rooms.filter((other) => overlap(room, other)).length * TAKEN + lines.filter((line) => crosses(line.points, room)).length;
        if (best === null || cost < best.cost) best = { cost, x, y: height + off, room };
      }
    }
    if (best === null || best.cost >= TAKEN) return [];
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

/** Whether a line runs through a room: by its points, and by what lies between two of them. */
function crosses(points: readonly Corner[], room: Room): boolean {
  return points.some(([x, y], at) => {
    const before = points[at - 1] ?? [x, y];
    if (Math.max(x, before[0]) < room.left || Math.min(x, before[0]) > room.right) return false;
    return Math.min(y, before[1]) <= room.bottom && Math.max(y, before[1]) >= room.top;
  });
}

/** A reading in as many lines as a width wants, broken at its dots. */
export function inLines(words: string, width: number): string[] {
  return words.split(DOT).reduce<string[]>((lines, part) => {
    const last = lines.at(-1);
    if (last === undefined || (last.length + DOT.length + part.length) * LETTER > width) return [...lines, part];
    return [...lines.slice(0, -1), `${last}${DOT}${part}`];
  }, []);
}
