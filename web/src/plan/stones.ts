/** Single stones on the plan in their true size, piles of stone, and where the machines stand that set them. Pure. */

import type { Lifter, Piece, StonePile } from "../api/stone";
import type { Job, Rows } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { bearing, isInside, nearestOnLine } from "./plane";
import { ringsOf, sampledRing } from "./rings";
import type { StoneRun } from "./stone-fields";

export const STONE_KINDS = ["stone", "heap", "stand"] as const;
export type StoneKind = (typeof STONE_KINDS)[number];

/** Something of the stone at one place: a stone, a pile on hand, or a standing place of a machine. */
export interface StonePlace {
  readonly kind: StoneKind;
  /** Stone, pile or machine. */
  readonly id: string;
  /** Number of the standing place. */
  readonly at?: number;
  readonly name: string;
  readonly point: SitePoint;
}

export function isStoneKind(kind: string): kind is StoneKind {
  return (STONE_KINDS as readonly string[]).includes(kind);
}

export function piecesOf(job: Job): Rows<Piece> {
  return job.stone?.pieces ?? {};
}

export function heapsOf(job: Job): Rows<StonePile> {
  return job.stone?.piles ?? {};
}

export function liftersOf(job: Job): Rows<Lifter> {
  return job.stone?.lifters ?? {};
}

export function stonePoint({ place }: Pick<Piece, "place">): SitePoint | null {
  return place ? [place.east, place.north] : null;
}

/** All stones that have a place, piles that have one, and every standing place. */
export function stonePlaces(job: Job): StonePlace[] {
  const stones = Object.entries(piecesOf(job)).flatMap(([id, row]): StonePlace[] => {
    const point = stonePoint(row);
    return point ? [{ kind: "stone", id, name: row.tag || row.name || id, point }] : [];
  });
  const heaps = Object.entries(heapsOf(job)).flatMap(([id, row]): StonePlace[] => (row.place ? [{ kind: "heap", id, name: row.name || id, point: [row.place.east, row.place.north] }] : []));
  const stands = Object.entries(liftersOf(job)).flatMap(([id, row]) => (row.stands ?? []).map(({ east, north }, at): StonePlace => ({ kind: "stand", id, at, name: row.name || id, point: [east, north] })));
  return [...stones, ...heaps, ...stands];
}

// A stone from above.

const LIES_FLAT: ReadonlySet<string> = new Set(["spill", "stand", "seat"]);

/** Sides of a stone as it is set: along, across, and upright. A slab lies; any other stands with its middle side upright. */
export function setSides({ length, width, height, shape, role }: Pick<Piece, "length" | "width" | "height" | "shape" | "role">): readonly [along: number, across: number, upright: number] {
  return shape === "slab" || LIES_FLAT.has(role ?? "any") ? [length, width, height] : [length, height, width];
}

/** Direction of the shore nearest to a place, clockwise from north; that of the grid where there is no shore. [rad] */
export function shoreTurn(job: Job, point: SitePoint): number {
  let best = { away: Infinity, turn: Math.PI / 2 };
  for (const ring of ringsOf(job)) {
    const points = sampledRing(ring)?.points ?? [];
    const line = ring.open ? points : [...points, ...points.slice(0, 1)];
    for (let at = 1; at < line.length; at += 1) {
      const piece = [line[at - 1] as SitePoint, line[at] as SitePoint] as const;
      const near = nearestOnLine(piece, point);
      if (near && near.distance < best.away) best = { away: near.distance, turn: bearing(piece[0], piece[1]) };
    }
  }
  return best.turn;
}

/** Direction of the longest side: as told, else along the shore. */
export function turnOf(job: Job, { turn }: Pick<Piece, "turn">, point: SitePoint): number {
  return turn ?? shoreTurn(job, point);
}

/** How round the corners are, as the power of a superellipse: 2 is an ellipse. */
const POWERS = { rounded: 2, blocky: 3.2, slab: 4, box: 12 } as const;
const CORNERS = 28;

/** Outline of a stone from above. */
export function outlineOf(row: Pick<Piece, "length" | "width" | "height" | "shape" | "role">, [east, north]: SitePoint, turn: number): SitePoint[] {
  const [along, across] = setSides(row);
  const power = 2 / POWERS[row.shape ?? "blocky"];
  const [sin, cos] = [Math.sin(turn), Math.cos(turn)];
  return Array.from({ length: CORNERS }, (_, at) => {
    const angle = (2 * Math.PI * at) / CORNERS;
    const a = (along / 2) * Math.sign(Math.cos(angle)) * Math.abs(Math.cos(angle)) ** power;
    const b = (across / 2) * Math.sign(Math.sin(angle)) * Math.abs(Math.sin(angle)) ** power;
    // Along points to `turn`, across to the right of it.
    return [east + a * sin + b * cos, north + a * cos - b * sin];
  });
}

/** A stone of a course, as it is drawn: nobody has measured it. */
export interface LaidStone {
  readonly middle: SitePoint;
  readonly turn: number;
  readonly along: number;
  readonly across: number;
}

const WIDER = 1.35; // a stone is so much longer than tall, on average
const OPEN = 0.06; // of its length, left to the next one
const DEEP = 0.9; // of its height, as it stands

/** A course as stones of its mean size, laid piece after piece along its line. */
export function laidAlong({ places, height }: Pick<StoneRun, "places" | "height">): LaidStone[] {
  const long = Math.max(height * WIDER, 0.1);
  const stones: LaidStone[] = [];
  let left = long / 2;
  for (const [at, { point, face, length }] of places.entries()) {
    // Square to the side to which the bank falls, the way the line goes on.
    const [before, after] = [places[Math.max(at - 1, 0)]?.point ?? point, places[Math.min(at + 1, places.length - 1)]?.point ?? point];
    const on = (after[0] - before[0]) * face[1] - (after[1] - before[1]) * face[0] < 0 ? -1 : 1;
    const [east, north]: SitePoint = [on * face[1], -on * face[0]];
    for (; left <= length; left += long) {
      const off = left - length / 2;
      stones.push({ middle: [point[0] + east * off, point[1] + north * off], turn: Math.atan2(east, north), along: long * (1 - OPEN), across: height * DEEP });
    }
    left -= length;
  }
  return stones;
}

/** Place of the ring that turns a stone: beyond the end of its longest side. */
export function handleOf(row: Pick<Piece, "length">, [east, north]: SitePoint, turn: number): SitePoint {
  const away = row.length / 2 + HANDLE;
  return [east + away * Math.sin(turn), north + away * Math.cos(turn)];
}

/** How far the handle stands off the stone [m]. */
const HANDLE = 0.35;

/** Stone, pile or standing place under a press: a mark within reach, else a stone whose outline lies around it. */
export function stoneAt(job: Job, at: SitePoint, within: number): StonePlace | null {
  const all = stonePlaces(job)
    .map((one) => ({ one, away: Math.hypot(one.point[0] - at[0], one.point[1] - at[1]) }))
    .sort((one, other) => one.away - other.away);
  const near = all[0];
  if (near && near.away <= within) return near.one;
  return all.find(({ one }) => one.kind === "stone" && liesIn(job, one, at))?.one ?? null;
}

function liesIn(job: Job, { id, point }: StonePlace, at: SitePoint): boolean {
  const row = piecesOf(job)[id];
  return row !== undefined && isInside(outlineOf(row, point, turnOf(job, row, point)), at);
}
