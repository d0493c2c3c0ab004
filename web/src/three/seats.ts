/** Seats, windows and places to stop, for the view in the round: where their eyes are, what they look at, and their plain bodies. Pure; metres. */

import type { Job, Place, Seat, SeatKind } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { middleOfBuilt, nameOf } from "../plan/built";
import type { Kept } from "../plan/fields";
import { drawnPlace } from "../plan/places";
import type { Corner3, Face } from "./built";
import type { Ground } from "./terrain";

/** Eyes of one who sits, where the row tells nothing [m]. */
const EYES = 1.2;
/** A bench: its length, its depth, its thickness; how far its back stands over it, and the eyes [m]. */
const LONG = 1.5;
const DEEP = 0.45;
const THICK = 0.08;
const BACK = 0.4;
const EYES_OVER_BENCH = 0.75;
const BENCH_REACH = [0.15, 0.6] as const;
/** A window: half its width, its height under and over the eye, its timber [m]. */
const HALF_WINDOW = 0.6;
const UNDER_EYE = 0.5;
const OVER_EYE = 0.6;
const TIMBER = 0.1;
/** A place to stop: its plate and its post [m]. */
const PLATE = 0.8;
const POST = 0.06;
/** The mark that says where the eye is [m]. */
const MARK = 0.09;

export interface Water {
  readonly body: string;
  readonly rings: readonly (readonly SitePoint[])[];
  readonly level: number;
}

/** One place to look from. */
export interface Spot {
  readonly id: string;
  readonly name: string;
  readonly kind: SeatKind;
  readonly eye: Corner3;
  /** Height of the ground, the deck or the path under it. */
  readonly foot: number;
  /** What it looks at. */
  readonly at: Corner3;
}

/** All places to look from: their eyes as the model tells them, or over the ground until it does. */
export function spotsOf(job: Job, views: Kept | null, waters: readonly Water[], ground: Ground): Spot[] {
  return Object.entries(job.shape.seats ?? {}).flatMap(([id, seat]): Spot[] => {
    const high = seat.eye_height ?? EYES;
    const eye = toldEye(views, id) ?? guessedEye(job, seat, high, ground);
    if (eye === null) return [];
    const at = lookedAt(job, seat, waters, ground) ?? [eye[0], eye[1] + 1, eye[2]];
    return [{ id, name: nameOf({ kind: "seat", id, row: seat, place: seat.place }), kind: seat.kind ?? "seat", eye, foot: eye[2] - high, at }];
  });
}

function toldEye(views: Kept | null, id: string): Corner3 | null {
  const at = views?.head.ids?.indexOf(id) ?? -1;
  const columns = views?.head.columns ?? [];
  if (views === null || at < 0) return null;
  const of = (name: string): number => views.field.data[at * columns.length + columns.indexOf(name)] as number;
  return [of("east"), of("north"), of("elevation")];
}

function guessedEye(job: Job, seat: Seat, high: number, ground: Ground): Corner3 | null {
  const point = middleOf(job, seat.place);
  return point && [...point, ground(...point) + high];
}

function middleOf(job: Job, place: Place): SitePoint | null {
  const drawn = drawnPlace(job, place);
  if (drawn?.as === "point") return drawn.point;
  return drawn && middleOfBuilt({ place });
}

/** What a seat looks at first: the place that its row names, else the middle of all water. */
function lookedAt(job: Job, seat: Seat, waters: readonly Water[], ground: Ground): Corner3 | null {
  const [place] = seat.looks_at ?? [];
  if (place?.at === "whole" || place?.at === "part") {
    const own = waters.filter(({ body }) => body === place.body);
    return middleOfWaters(own.length > 0 ? own : waters);
  }
  const point = place ? middleOf(job, place) : null;
  return point ? [...point, ground(...point)] : middleOfWaters(waters);
}

/** Middle of the area of waters, at their mean level; none of none. */
export function middleOfWaters(waters: readonly Water[]): Corner3 | null {
  const sum = [0, 0, 0];
  let whole = 0;
  for (const { rings, level } of waters) {
    const [outer = []] = rings;
    const [first] = outer;
    if (!first) continue;
    // A ring may run either way round: its triangles count by its own sign.
    const parts = outer.map((from, at) => partOf(first, from, outer[(at + 1) % outer.length] as SitePoint));
    const sign = Math.sign(parts.reduce((area, part) => area + part[2], 0));
    for (const [east, north, area] of parts) {
      [east, north, level].forEach((value, axis) => (sum[axis] = (sum[axis] as number) + sign * area * value));
      whole += sign * area;
    }
  }
  return whole > 0 ? [(sum[0] as number) / whole, (sum[1] as number) / whole, (sum[2] as number) / whole] : null;
}

function partOf(apex: SitePoint, from: SitePoint, to: SitePoint): readonly [number, number, number] {
  const area = ((from[0] - apex[0]) * (to[1] - apex[1]) - (to[0] - apex[0]) * (from[1] - apex[1])) / 2;
  return [(apex[0] + from[0] + to[0]) / 3, (apex[1] + from[1] + to[1]) / 3, area];
}

/** Height of the top of the body of a seat. */
export function topOf({ kind, eye }: Spot): number {
  return eye[2] + (kind === "window" ? OVER_EYE : MARK);
}

/** Faces of the bodies of seats, and of the marks at their eyes. */
export function seatFaces(spots: readonly Spot[]): Face[] {
  return spots.flatMap((spot) => {
    const box = boxesAt(spot);
    const mark = box([0, 0], [MARK, MARK], spot.eye[2] - MARK / 2, spot.eye[2] + MARK / 2);
    return [...bodyOf(spot, box), ...mark];
  });
}

type Box = (middle: SitePoint, sides: readonly [across: number, along: number], low: number, high: number) => Face[];

function bodyOf({ kind, foot, eye: [, , eye] }: Spot, box: Box): Face[] {
  if (kind === "window") {
    const [sill, head] = [eye - UNDER_EYE, eye + OVER_EYE];
    const side = 2 * HALF_WINDOW;
    return [
      ...[-HALF_WINDOW, 0, HALF_WINDOW].flatMap((across) => box([across, 0], [TIMBER, TIMBER], sill, head)),
      ...[sill, head].flatMap((bar) => box([0, 0], [side + TIMBER, TIMBER], bar - TIMBER / 2, bar + TIMBER / 2)),
      ...[-HALF_WINDOW, HALF_WINDOW].flatMap((across) => box([across, 0], [TIMBER / 2, TIMBER / 2], foot, sill)),
    ];
  }
  if (kind === "stop") return [...box([0, 0], [PLATE, PLATE], foot, foot + THICK), ...box([0, 0], [POST, POST], foot, eye)];
  const bench = foot + Math.min(Math.max(eye - foot - EYES_OVER_BENCH, BENCH_REACH[0]), BENCH_REACH[1]);
  const behind = -DEEP / 2;
  return [
    ...box([0, 0], [LONG, DEEP], bench - THICK, bench),
    ...box([0, behind], [LONG, THICK], bench, bench + BACK),
    ...[-0.4, 0.4].flatMap((share) => box([share * LONG, 0], [THICK, DEEP], foot, bench - THICK)),
    ...box([0, 0], [POST / 2, POST / 2], bench, eye),
  ];
}

/** Boxes in the axes of one who sits: across to the right, along ahead. */
function boxesAt({ eye: [east, north], at }: Spot): Box {
  const [x, y] = [at[0] - east, at[1] - north];
  const away = Math.hypot(x, y);
  const [ahead, right] = away > 0 ? [[x / away, y / away], [y / away, -x / away]] as const : [[0, 1], [1, 0]] as const;
  return ([across, along], [wide, deep], low, high) => {
    const corner = (one: number, other: number, up: number): Corner3 => {
      const [a, b] = [across + (one * wide) / 2, along + (other * deep) / 2];
      return [east + a * right[0] + b * ahead[0], north + a * right[1] + b * ahead[1], up];
    };
    const round = [[-1, -1], [1, -1], [1, 1], [-1, 1]] as const;
    const sides = round.map(([one, other], at): Face => {
      const [next, beyond] = round[(at + 1) % 4] as readonly [number, number];
      return [corner(one, other, low), corner(next, beyond, low), corner(next, beyond, high), corner(one, other, high)];
    });
    const flat = (up: number): Face => round.map(([one, other]) => corner(one, other, up)) as unknown as Face;
    return [...sides, flat(high), flat(low)];
  };
}
