/** Where flags and their words stand over a strip, so that none lies over another. Pure; in pixels. */

import type { Box } from "../charts/picture";

export interface FlagPlace {
  /** Left side of the cloth: it hangs to the right of its pole, or to the left where there is more room. */
  readonly cloth: number;
  /** Where its words begin or end; null where they have no room. */
  readonly words: { readonly x: number; readonly anchor: "start" | "end" } | null;
}

type Room = readonly [from: number, to: number];

export const CLOTH = 18;
const GAP = 4;
const LETTER = 6.6;

/** A place for each flag, the first ones choosing first; null for one that has no room. */
export function flagPlaces(flags: readonly { readonly x: number; readonly words: string }[], box: Box): (FlagPlace | null)[] {
  const taken: Room[] = [];
  const free = ([from, to]: Room): boolean => from >= box.left && to <= box.right && taken.every((other) => to + GAP <= other[0] || other[1] + GAP <= from);
  const taking = (rooms: readonly Room[]): Room | undefined => {
    const room = rooms.find(free);
    if (room) taken.push(room);
    return room;
  };
  const cloths = flags.map(({ x }) => taking([[x, x + CLOTH], [x - CLOTH, x]])?.[0] ?? null);
  return cloths.map((cloth, at) => {
    if (cloth === null) return null;
    const long = (flags[at]?.words.length ?? 0) * LETTER;
    const start = cloth + CLOTH + GAP;
    const room = taking([[start, start + long], [cloth - GAP - long, cloth - GAP]]);
    if (!room) return { cloth, words: null };
    return { cloth, words: room[0] === start ? { x: start, anchor: "start" } : { x: cloth - GAP, anchor: "end" } };
  });
}

/** Name of a flag by its place in the order: A is the worst. */
export function letterOf(at: number): string {
  return String.fromCharCode("A".charCodeAt(0) + at);
}
