/** Rows that lie on the plan point by point, and the edits that move them: what is built beside the water, what is known of the groundwater and leads it away, and what belongs to the liner. */

import type { Gate, Job, Place, Row, Rows, Seat, Way, WayKind } from "../api/types";
import type { Guard } from "../api/lining";
import type { Drain, Reading } from "../api/water";
import type { SitePoint } from "../geometry/types";
import { type Op, pointer } from "../state/ops";
import { linedShown } from "../state/liner-shown";
import type { Selection } from "../state/session";
import { placeThrough, pointsThrough } from "./line-kinds";
import { drawnPlace } from "./places";
import { distance, isInside, nearestOnLine } from "./plane";
import { json, shifted, withPegAfter, withPegAt } from "./rings";
import { say } from "./say";

export const WAY_KINDS: readonly WayKind[] = ["path", "bridge", "deck", "steps", "wall", "fence", "bed", "pad", "light"];
export const SEAT_KINDS = ["seat", "window", "stop"] as const;
/** Kinds that are an area as a rule. */
const AREAS: ReadonlySet<WayKind> = new Set(["deck", "bed", "pad"]);
/** Widths of a way that tells none [m]: a path for two, a wall one stone thick. */
export const FIRST_WIDTHS: Readonly<Record<WayKind, number>> = { path: 1.2, bridge: 1.2, deck: 2.4, steps: 1.2, wall: 0.3, bed: 1.5, pad: 1.5, fence: 0.1, light: 0.3 };
/** How high what stands upright is where its row tells nothing [m]. */
export const FIRST_HEIGHTS: Readonly<Partial<Record<WayKind, number>>> = { wall: 0.45, fence: 1.2192, light: 0.6 };
export const GATE_WIDTH = 1; // metres of a gate that tells none
/** From so much open on one sees through a fence. */
export const SEEN_THROUGH = 0.5;
/** Kinds that may end at another level than they begin. */
const RISING: ReadonlySet<WayKind> = new Set(["path", "bridge", "deck", "steps", "bed", "pad"]);
/** What only ways of some kinds tell. */
const ONLY: Readonly<Record<string, (kind: WayKind) => boolean>> = {
  end_level: (kind) => RISING.has(kind),
  top: (kind) => kind === "wall" || RISING.has(kind),
  height: (kind) => kind in FIRST_HEIGHTS,
  open_share: (kind) => kind === "fence",
  gates: (kind) => kind === "fence",
  aims_at: (kind) => kind === "light",
};
export const FIRST_HEIGHT = 0.6; // metres of a mound that nobody has told yet

const SECTIONS = {
  way: ["shape", "ways"],
  mound: ["shape", "mounds"],
  seat: ["shape", "seats"],
  reading: ["groundwater", "readings"],
  drain: ["groundwater", "drains"],
  outlet: ["groundwater", "outlets"],
  sump: ["groundwater", "sumps"],
  penetration: ["lining", "penetrations"],
  patch: ["lining", "patches"],
  guard: ["lining", "guards"],
  tape: ["lining", "tapes"],
} as const;
export type BuiltKind = keyof typeof SECTIONS;
/** What is built beside the water. */
const SHAPED = ["way", "mound", "seat"] as const;
/** What is known of the groundwater, and what leads it away. */
const WATERED = ["reading", "drain", "outlet", "sump"] as const;
export type WaterKind = (typeof WATERED)[number];
/** What belongs to the liner. */
const LINED = ["penetration", "patch", "guard", "tape"] as const;
export type LinerKind = (typeof LINED)[number];

export interface PlacedRow extends Row {
  readonly place: Place;
}

export interface Built {
  readonly kind: BuiltKind;
  readonly id: string;
  readonly row: PlacedRow;
  readonly place: Place;
}

export function builtOf(job: Job): Built[] {
  return rowsOfKinds(job, SHAPED);
}

/** Readings, drains, outlets and sumps. */
export function wateredOf(job: Job): (Built & { readonly kind: WaterKind })[] {
  return rowsOfKinds(job, WATERED) as (Built & { readonly kind: WaterKind })[];
}

/** Pipes through the liner, patches, guards and lengths taped in the hole. */
export function linedOf(job: Job): (Built & { readonly kind: LinerKind })[] {
  return rowsOfKinds(job, LINED) as (Built & { readonly kind: LinerKind })[];
}

function rowsOfKinds(job: Job, kinds: readonly BuiltKind[]): Built[] {
  return kinds.flatMap((kind) => Object.entries(rowsOfKind(job, kind)).map(([id, row]) => ({ kind, id, row, place: row.place })));
}

function rowsOfKind(job: Job, kind: BuiltKind): Rows<PlacedRow> {
  const [section, rows] = SECTIONS[kind];
  return ((job[section] ?? {}) as Readonly<Record<string, Rows<PlacedRow> | undefined>>)[rows] ?? {};
}

export function isWatered(kind: string): kind is WaterKind {
  return (WATERED as readonly string[]).includes(kind);
}

export function isLined(kind: string): kind is LinerKind {
  return (LINED as readonly string[]).includes(kind);
}

/** Whether a row was found or laid where it is: it is pressed before it is dragged. */
export function isLaid(kind: string): boolean {
  return isWatered(kind) || isLined(kind);
}

function laidOf(job: Job): Built[] {
  return [...wateredOf(job), ...(linedShown.value ? linedOf(job) : [])];
}

export function isBuilt(selection: Selection | null): selection is Selection & { kind: BuiltKind } {
  return selection !== null && selection.kind in SECTIONS;
}

export function builtOne(job: Job, { kind, id }: Pick<Selection, "kind" | "id">): Built | null {
  if (!(kind in SECTIONS)) return null;
  const row = rowsOfKind(job, kind as BuiltKind)[id];
  return row ? { kind: kind as BuiltKind, id, row, place: row.place } : null;
}

export function builtPath(kind: BuiltKind, id: string): string {
  return pointer(...SECTIONS[kind], id);
}

/** Name of it as people call it. */
export function nameOf({ kind, id, row }: Built): string {
  return (row as Row).name || `${kindWords(kind, row)} ${numberIn(id)}`.trim();
}

export function kindWords(kind: BuiltKind, row: PlacedRow): string {
  if (kind === "reading") return say(`groundwater.reading.${(row as Reading).kind}`);
  if (isWatered(kind)) return say(`groundwater.${kind}`);
  if (kind === "guard") return say(`liner.guard.${(row as Guard).kind}`);
  if (isLined(kind)) return say(`liner.${kind}`);
  if (kind === "way") return say(`plan.way.${(row as Way).kind}`);
  return kind === "mound" ? say("plan.tool.mound").toLowerCase() : say(`plan.seat.${(row as Seat).kind ?? "seat"}`);
}

function numberIn(id: string): string {
  return /_(\d+)$/.exec(id)?.[1] ?? "";
}

/** A share in hundredths, as people say it. */
export function percent(share: number): string {
  return `${Math.round(100 * share)} %`;
}

/** Points by which a row is taken hold of. */
export function pointsOf({ place }: Pick<Built, "place">): SitePoint[] {
  return pointsThrough(place);
}

/** Smallest and largest count of points that a place can have. */
function least(place: Place): number {
  return place.at === "ring" ? 3 : place.at === "line" ? 2 : 1;
}

export function movePointOps(built: Built, at: number, point: SitePoint): Op[] {
  return [placeOp(built, withPointAt(built.place, at, point))];
}

/** Middle of a row that can be moved whole; null where it is a point, or follows a part of a shore. */
export function middleOfBuilt(built: Pick<Built, "place">): SitePoint | null {
  const points = pointsOf(built);
  if (points.length < 2) return null;
  const sum = points.reduce<SitePoint>(([east, north], point) => [east + point[0], north + point[1]], [0, 0]);
  return [sum[0] / points.length, sum[1] / points.length];
}

/** Operations that move a row whole. */
export function shiftOps(built: Built, by: SitePoint): Op[] {
  const { place } = built;
  if (place.at === "ring") return [placeOp(built, { ...place, curve: shifted(place.curve, by) })];
  if (place.at !== "line") return [];
  return [placeOp(built, { ...place, points: place.points.map(({ east, north }) => ({ east: east + by[0], north: north + by[1] })) })];
}

/** Operations that put in a point after another; none where the place is a point. */
export function insertPointOps(built: Built, after: number, point: SitePoint): Op[] {
  const { place } = built;
  if (place.at === "ring") return [placeOp(built, { ...place, curve: withPegAfter(place.curve, after, point).curve })];
  if (place.at !== "line") return [];
  const [east, north] = point;
  return [placeOp(built, { ...place, points: place.points.toSpliced(after + 1, 0, { east, north }) }), ...invertsOps(built, (inverts) => inverts.toSpliced(after + 1, 0, between(built, inverts, after, point)))];
}

/** Operations that keep the bottoms of a drain one for each of its points; none where none are given. */
function invertsOps({ kind, id, row }: Built, change: (inverts: readonly number[]) => readonly number[]): Op[] {
  const inverts = kind === "drain" ? ((row as Drain).inverts ?? []) : [];
  return inverts.length === 0 ? [] : [{ op: "replace", path: `${builtPath(kind, id)}/inverts`, value: json(change(inverts)) }];
}

/** Bottom of a drain at a place between two of its points, on their straight fall. */
function between(built: Built, inverts: readonly number[], after: number, point: SitePoint): number {
  const [from, to] = [pointsOf(built)[after], pointsOf(built)[after + 1]];
  const [upper = 0, lower = upper] = [inverts[after], inverts[after + 1]];
  const whole = from && to ? distance(from, to) : 0;
  return upper + (from && whole > 0 ? Math.min(1, distance(from, point) / whole) : 0) * (lower - upper);
}

/** Operations that take a point out, or null where too few would be left. */
export function removePointOps(built: Built, at: number): Op[] | null {
  const { place } = built;
  if (pointsThrough(place).length <= least(place)) return null;
  if (place.at === "ring") return [placeOp(built, { ...place, curve: { ...place.curve, pegs: place.curve.pegs.toSpliced(at, 1) } })];
  return place.at === "line" ? [placeOp(built, { ...place, points: place.points.toSpliced(at, 1) }), ...invertsOps(built, (inverts) => inverts.toSpliced(at, 1))] : null;
}

function withPointAt(place: Place, at: number, point: SitePoint): Place {
  const [east, north] = point;
  if (place.at === "point") return { ...place, east, north };
  if (place.at === "line") return { ...place, points: place.points.with(at, { east, north }) };
  if (place.at !== "ring") return place;
  const peg = place.curve.pegs[at];
  return peg ? { ...place, curve: withPegAt(place.curve, peg.id, point) } : place;
}

function placeOp({ kind, id }: Built, place: Place): Op {
  return { op: "replace", path: `${builtPath(kind, id)}/place`, value: json(place) };
}

/** Whether a way of a kind may end at another level than it begins. */
export function isRising(kind: WayKind): boolean {
  return RISING.has(kind);
}

/** Whether a way of a kind stands at one point. */
export function isPoint(kind: WayKind): boolean {
  return kind === "light";
}

/** Operations that make a way one of another kind, without what that kind does not have. */
export function kindOps(id: string, way: Way, kind: WayKind): Op[] {
  const path = builtPath("way", id);
  const gone = Object.keys(ONLY).filter((name) => name in way && !ONLY[name]?.(kind));
  return [...gone.map((name): Op => ({ op: "remove", path: `${path}/${name}` })), { op: "replace", path: `${path}/kind`, value: kind }];
}

/** Places of the two posts of each gate of a fence; a gate beyond the end stands at the end. */
export function gatesOn(line: readonly SitePoint[], gates: readonly Gate[]): (readonly [SitePoint, SitePoint])[] {
  const whole = lengthAlong(line);
  return gates.map((gate): readonly [SitePoint, SitePoint] => {
    const half = Math.min((gate.width ?? GATE_WIDTH) / 2, whole / 2);
    const middle = Math.min(Math.max(gate.distance, half), whole - half);
    return [pointAlong(line, middle - half), pointAlong(line, middle + half)];
  });
}

export function lengthAlong(line: readonly SitePoint[]): number {
  return line.slice(1).reduce((sum, point, at) => sum + distance(line[at] as SitePoint, point), 0);
}

/** Point of a line so far from its begin. */
function pointAlong(line: readonly SitePoint[], station: number): SitePoint {
  let left = station;
  for (let at = 1; at < line.length; at += 1) {
    const [from, to] = [line[at - 1] as SitePoint, line[at] as SitePoint];
    const long = distance(from, to);
    if (left <= long && long > 0) return [from[0] + (left / long) * (to[0] - from[0]), from[1] + (left / long) * (to[1] - from[1])];
    left -= long;
  }
  return line.at(-1) as SitePoint;
}

/** Row of a new way through places. */
export function newWay(kind: WayKind, places: readonly SitePoint[], width: number | null): Way {
  if (isPoint(kind)) {
    const [east, north] = places.at(-1) as SitePoint;
    return { kind, place: { at: "point", east, north } };
  }
  if (kind === "fence") return { kind, place: placeThrough(places, false) };
  const place = placeThrough(places, AREAS.has(kind));
  return { kind, place, ...(place.at === "line" ? { width: width ?? FIRST_WIDTHS[kind] } : {}) };
}

export function isArea(kind: WayKind): boolean {
  return AREAS.has(kind);
}

/** Point of the chosen row, or of any row that is one point, under a press. */
export function builtPointAt(job: Job, selection: Selection | null, place: SitePoint, within: number): { readonly built: Built; readonly at: number; readonly point: SitePoint } | null {
  let best: { readonly built: Built; readonly at: number; readonly point: SitePoint } | null = null;
  let nearest = within;
  for (const built of [...builtOf(job), ...laidOf(job)]) {
    const isChosen = selection?.kind === built.kind && selection.id === built.id;
    if (!isChosen && (built.place.at !== "point" || isLaid(built.kind))) continue;
    pointsOf(built).forEach((point, at) => {
      const away = distance(point, place);
      if (away > nearest) return;
      best = { built, at, point };
      nearest = away;
    });
  }
  return best;
}

/** Way, mound or seat under a press: what is small goes before what it stands on. */
export function builtAt(job: Job, place: SitePoint, within: number): Built | null {
  return smallestUnder(job, builtOf(job), place, within);
}

/** What was found or laid under a press: points before lines. */
export function laidAt(job: Job, place: SitePoint, within: number): Built | null {
  return smallestUnder(job, laidOf(job), place, within);
}

function smallestUnder(job: Job, rows: readonly Built[], place: SitePoint, within: number): Built | null {
  let best: Built | null = null;
  let smallest = Infinity;
  for (const built of rows) {
    const size = sizeUnder(job, built, place, within);
    if (size === null || size >= smallest) continue;
    best = built;
    smallest = size;
  }
  return best;
}

/** Whether a way or mound lies under a press, along its line or inside it. */
export function liesUnder(job: Job, built: Built, place: SitePoint, within: number): boolean {
  return sizeUnder(job, built, place, within) !== null;
}

function sizeUnder(job: Job, built: Built, place: SitePoint, within: number): number | null {
  const drawn = drawnPlace(job, built.place);
  if (drawn === null) return null;
  const half = built.kind === "way" ? ((built.row as Way).width ?? 0) / 2 : 0;
  if (drawn.as === "point") return distance(drawn.point, place) <= within ? 0 : null;
  const line = drawn.as === "line" ? drawn.line : [...drawn.ring, ...drawn.ring.slice(0, 1)];
  const away = nearestOnLine(line, place)?.distance ?? Infinity;
  if (away <= Math.max(within, drawn.as === "line" ? half : 0)) return 1 + away;
  // A pond that was read lies under everything in it.
  return drawn.as === "ring" && built.kind !== "reading" && isInside(drawn.ring, place) ? 1000 : null;
}

/** Place on the line of the chosen row under a press, and the point after which it lies. */
export function builtLineAt(job: Job, selection: Selection | null, place: SitePoint, within: number): { readonly built: Built; readonly after: number; readonly point: SitePoint } | null {
  const built = selection && builtOne(job, selection);
  if (!built || built.place.at === "point") return null;
  const points = pointsOf(built);
  const line = built.place.at === "ring" ? [...points, points[0] as SitePoint] : points;
  let best: { readonly built: Built; readonly after: number; readonly point: SitePoint } | null = null;
  let nearest = within;
  for (let at = 1; at < line.length; at += 1) {
    const on = nearestOnLine([line[at - 1] as SitePoint, line[at] as SitePoint], place);
    if (on === null || on.distance > nearest) continue;
    best = { built, after: at - 1, point: on.point };
    nearest = on.distance;
  }
  return best;
}
