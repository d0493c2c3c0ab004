/** Hauls as the plan draws them: many small ways between blocks, gathered into a few arrows. Pure. */

import type { SitePoint } from "../geometry/types";
import type { ArrayHead, NumberArray } from "../api/frame";

export const NOWHERE = "nowhere";
export const PLACED = "placed";
const PILE = "pile ";
const OFF_SITE = "off site ";

const WIDTH = 7; // numbers in a row
const MOST_ARROWS = 25;
const FIRST_BLOCK = 8; // metres
const LEAST_WAY = 0.5; // metres

export interface Haul {
  readonly from: SitePoint;
  readonly to: SitePoint;
  /** Where it bends: round what is kept clear of, and along the way in. */
  readonly bends?: readonly SitePoint[];
  /** Name of the place that takes it. */
  readonly end: string;
  readonly stream: string;
  /** In the bank [m³]. */
  readonly volume: number;
  /** Volume times way [m⁴], so that means are those of the soil. */
  readonly work: number;
  /** Machine time for carrying [s]. */
  readonly time: number;
}

export interface HaulsSent {
  readonly field: { readonly data: NumberArray; readonly shape: readonly number[] };
  readonly head: Pick<ArrayHead, "ids" | "streams">;
}

/** Bends of every haul: their places one after another, and where those of each begin. */
export interface BendsSent {
  readonly places: NumberArray;
  readonly starts: NumberArray;
}

/** Hauls of the server's arrays. */
export function haulsOf(sent: HaulsSent | null, bends: BendsSent | null = null): Haul[] {
  if (sent === null) return [];
  const { data, shape } = sent.field;
  return Array.from({ length: shape[0] ?? 0 }, (_, at) => {
    const [east, north, toEast, toNorth, volume, distance, time] = Array.from(data.subarray(WIDTH * at, WIDTH * at + WIDTH)) as [number, number, number, number, number, number, number];
    return {
      from: [east, north] as const,
      to: [toEast, toNorth] as const,
      end: sent.head.ids?.[at] ?? "",
      stream: sent.head.streams?.[at] ?? "",
      volume,
      work: volume * distance,
      time,
      ...(bends === null ? {} : { bends: bendsOf(bends, at) }),
    };
  });
}

function bendsOf({ places, starts }: BendsSent, at: number): SitePoint[] {
  const [first, last] = [starts[at] ?? 0, starts[at + 1] ?? 0];
  return Array.from({ length: last - first }, (_, step) => [places[2 * (first + step)] as number, places[2 * (first + step) + 1] as number] as const);
}

/** All places that a haul goes along. */
export function wayOf({ from, bends = [], to }: Pick<Haul, "from" | "bends" | "to">): readonly SitePoint[] {
  return [from, ...bends, to];
}

/** Which place an end of a haul is: a pile, a gate, placed soil, or none. */
export function placeOfEnd(end: string): { readonly kind: "pile" | "gate" | "placed" | "nowhere"; readonly id: string } {
  if (end.startsWith(PILE)) return { kind: "pile", id: end.slice(PILE.length) };
  if (end.startsWith(OFF_SITE)) return { kind: "gate", id: end.slice(OFF_SITE.length) };
  return { kind: end === PLACED ? "placed" : "nowhere", id: "" };
}

/** Arrows that stand for all hauls that go somewhere: neighbours of one stream to one place are one arrow. */
export function arrows(hauls: readonly Haul[], most = MOST_ARROWS): Haul[] {
  const going = hauls.filter(({ end }) => end !== NOWHERE);
  const places = going.flatMap(({ from, to }) => [from, to]);
  const corner: SitePoint = [Math.min(...places.map(([east]) => east)), Math.min(...places.map(([, north]) => north))];
  const span = Math.max(0, ...places.map(([east, north]) => Math.max(east - corner[0], north - corner[1])));
  let found = gathered(going, corner, FIRST_BLOCK);
  for (let block = 2 * FIRST_BLOCK; found.length > most && block <= 4 * span; block *= 2) found = gathered(going, corner, block);
  const long = found.filter(({ from, to }) => Math.hypot(to[0] - from[0], to[1] - from[1]) > LEAST_WAY);
  return long.sort((one, other) => other.volume - one.volume).slice(0, most);
}

function gathered(hauls: readonly Haul[], corner: SitePoint, block: number): Haul[] {
  const cell = ([east, north]: SitePoint): string => `${Math.floor((east - corner[0]) / block)},${Math.floor((north - corner[1]) / block)}`;
  const groups = new Map<string, Haul[]>();
  for (const haul of hauls) {
    const to = haul.end === PLACED ? cell(haul.to) : "";
    const key = [haul.stream, haul.end, cell(haul.from), to].join("|");
    groups.set(key, [...(groups.get(key) ?? []), haul]);
  }
  return [...groups.values()].map(together);
}

function together(some: readonly Haul[]): Haul {
  const sum = (of: (haul: Haul) => number): number => some.reduce((total, haul) => total + of(haul), 0);
  const volume = sum((haul) => haul.volume);
  const mean = (place: (haul: Haul) => SitePoint): SitePoint => [0, 1].map((axis) => sum((haul) => haul.volume * (place(haul)[axis] as number)) / volume) as unknown as SitePoint;
  const [{ end, stream }] = some as readonly [Haul];
  return { ...shownWay(some, mean((haul) => haul.from), mean((haul) => haul.to)), end, stream, volume, work: sum((haul) => haul.work), time: sum((haul) => haul.time) };
}

/** Between the means where all run straight; else the way that one of them really takes, the nearest to the means. */
function shownWay(some: readonly Haul[], from: SitePoint, to: SitePoint): Pick<Haul, "from" | "bends" | "to"> {
  if (some.every(({ bends = [] }) => bends.length === 0)) return { from, bends: [], to };
  const off = (haul: Haul): number => Math.hypot(haul.from[0] - from[0], haul.from[1] - from[1]) + Math.hypot(haul.to[0] - to[0], haul.to[1] - to[1]);
  const { from: start, bends = [], to: stop } = some.reduce((best, one) => (off(one) < off(best) ? one : best));
  return { from: start, bends, to: stop };
}

/** Carrying time to each place by its name [s]. */
export function timesByEnd(hauls: readonly Haul[]): ReadonlyMap<string, number> {
  const times = new Map<string, number>();
  for (const { end, time } of hauls) times.set(end, (times.get(end) ?? 0) + time);
  return times;
}

/** Arrow under a press. */
export function arrowAt(some: readonly Haul[], place: SitePoint, within: number): Haul | null {
  let best: Haul | null = null;
  let least = within;
  for (const arrow of some) {
    const way = wayOf(arrow);
    const away = Math.min(...way.slice(1).map((to, at) => fromPiece(way[at] as SitePoint, to, place)));
    if (away > least) continue;
    best = arrow;
    least = away;
  }
  return best;
}

function fromPiece([ax, ay]: SitePoint, [bx, by]: SitePoint, [x, y]: SitePoint): number {
  const [ux, uy] = [bx - ax, by - ay];
  const whole = ux * ux + uy * uy;
  const share = whole > 0 ? Math.min(1, Math.max(0, ((x - ax) * ux + (y - ay) * uy) / whole)) : 0;
  return Math.hypot(ax + share * ux - x, ay + share * uy - y);
}
