/** The shorelines and islands of a job, and the edits that bend them: a ring is always replaced whole. */

import type { Body, Curve, Job, Peg, Stretch } from "../api/types";
import { type Sampled, type Span, closedCurve, closedSpans, openCurve, openSpans } from "../geometry/curve";
import type { SitePoint } from "../geometry/types";
import { nextIds } from "../state/changes";
import { type Json, type Op, pointer } from "../state/ops";
import { crossings } from "./plane";

export const OUTER = "outer";

export interface RingName {
  readonly body: string;
  /** `outer`, or the id of an island. */
  readonly ring: string;
}

/** A ring with its curve; open when it is the middle line of a stream. */
export interface Ring extends RingName {
  readonly curve: Curve;
  readonly open: boolean;
}

export function ringsOf(job: Job): Ring[] {
  return Object.entries(job.shape.bodies ?? {}).flatMap(([body, row]) => [
    { body, ring: OUTER, curve: row.outline.curve, open: row.outline.form === "corridor" },
    ...Object.entries(row.islands ?? {}).map(([ring, curve]) => ({ body, ring, curve, open: false })),
  ]);
}

export function ringOf(job: Job, { body, ring }: RingName): Ring | null {
  return ringsOf(job).find((one) => one.body === body && one.ring === ring) ?? null;
}

export function pegPoint(peg: Peg): SitePoint {
  return [peg.east, peg.north];
}

const sampledCurves = new WeakMap<Curve, Sampled | null>();
const spansOfCurves = new WeakMap<Curve, readonly Span[]>();

/** The smooth curve of a ring, or null when its pegs make none. Kept for as long as the curve is not touched. */
export function sampledRing(ring: { readonly curve: Curve; readonly open: boolean }): Sampled | null {
  const known = sampledCurves.get(ring.curve);
  if (known !== undefined) return known;
  const sampled = without(null, () => (ring.open ? openCurve : closedCurve)(points(ring.curve), corners(ring.curve)));
  sampledCurves.set(ring.curve, sampled);
  return sampled;
}

const crossingsOfCurves = new WeakMap<Curve, readonly SitePoint[]>();

/** Places at which a ring crosses itself. */
export function crossingsOf(ring: { readonly curve: Curve; readonly open: boolean }): readonly SitePoint[] {
  const known = crossingsOfCurves.get(ring.curve);
  if (known !== undefined) return known;
  const found = crossings(sampledRing(ring)?.points ?? [], !ring.open);
  crossingsOfCurves.set(ring.curve, found);
  return found;
}

/** Spans of a ring, none when its pegs make no curve. */
export function spansOfRing(ring: { readonly curve: Curve; readonly open: boolean }): readonly Span[] {
  const known = spansOfCurves.get(ring.curve);
  if (known !== undefined) return known;
  const spans = without([], () => (ring.open ? openSpans : closedSpans)(points(ring.curve), corners(ring.curve)));
  spansOfCurves.set(ring.curve, spans);
  return spans;
}

export function withPegAt(curve: Curve, id: string, [east, north]: SitePoint): Curve {
  return { ...curve, pegs: curve.pegs.map((peg) => (peg.id === id ? { ...peg, east, north } : peg)) };
}

export function withPegAfter(curve: Curve, at: number, [east, north]: SitePoint): { curve: Curve; id: string } {
  const [id = "p1"] = nextIds("p", Object.fromEntries(curve.pegs.map((peg) => [peg.id, peg])), 1);
  const pegs = [...curve.pegs.slice(0, at + 1), { id, east, north }, ...curve.pegs.slice(at + 1)];
  return { curve: { ...curve, pegs }, id };
}

export function withCornerTurned(curve: Curve, id: string): Curve {
  return { ...curve, pegs: curve.pegs.map((peg) => (peg.id === id ? { ...peg, corner: !peg.corner } : peg)) };
}

export function shifted(curve: Curve, [east, north]: SitePoint): Curve {
  return { ...curve, pegs: curve.pegs.map((peg) => ({ ...peg, east: peg.east + east, north: peg.north + north })) };
}

/** Curve through places, with fresh pegs. */
export function curveThrough(places: readonly SitePoint[]): Curve {
  return { pegs: places.map(([east, north], at) => ({ id: `p${at + 1}`, east, north })) };
}

/** Operation that puts a curve in the place of another. */
export function replaceRing(name: RingName, curve: Curve): Op {
  return { op: "replace", path: ringPath(name), value: json(curve) };
}

/** Operations that put in a peg; a stream gets a width there too. */
export function insertOps(job: Job, name: RingName, at: number, curve: Curve): Op[] {
  const outline = job.shape.bodies?.[name.body]?.outline;
  if (outline?.form !== "corridor") return [replaceRing(name, curve)];
  const perPeg = outline.widths.length === outline.curve.pegs.length;
  const widths = perPeg ? outline.widths.toSpliced(at + 1, 0, outline.widths[at] as number) : outline.widths;
  return [replaceOutline(name.body, { ...outline, curve, widths })];
}

/** Fewest pegs that a ring can have. */
function leastPegs(open: boolean): number {
  return open ? 2 : 3;
}

/** Operations that take out a peg; bank types that began or ended there now do so at its neighbour. */
export function removeOps(job: Job, name: RingName, id: string): Op[] | null {
  const ring = ringOf(job, name);
  const at = ring?.curve.pegs.findIndex((peg) => peg.id === id) ?? -1;
  if (ring === null || at < 0 || ring.curve.pegs.length <= leastPegs(ring.open)) return null;
  const curve = { ...ring.curve, pegs: ring.curve.pegs.toSpliced(at, 1) };
  const body = job.shape.bodies?.[name.body] as Body;
  const outline = body.outline;
  const perPeg = outline.form === "corridor" && outline.widths.length === ring.curve.pegs.length;
  const replaced =
    outline.form === "corridor" && name.ring === OUTER
      ? replaceOutline(name.body, { ...outline, curve, widths: perPeg ? outline.widths.toSpliced(at, 1) : outline.widths })
      : replaceRing(name, curve);
  // The stretches go first, so that none of them ever names a peg that is not there.
  return [...stretchOps(body, name, ring.curve, at), replaced];
}

/** Short name of a ring's row that is not in use. */
export function freeId(stem: string, taken: Iterable<string>): string {
  const used = new Set(taken);
  for (let number = 1; ; number += 1) {
    const id = `${stem}${number}`;
    if (!used.has(id)) return id;
  }
}

/** What a row is called that nobody has given a name yet: `seat_1` is seat 1. */
export function calledBy(id: string): string {
  return id.replaceAll("_", " ");
}

/** Middle of the pegs of a curve. */
export function middleOf(curve: Curve): SitePoint {
  const count = Math.max(curve.pegs.length, 1);
  return [
    curve.pegs.reduce((sum, peg) => sum + peg.east, 0) / count,
    curve.pegs.reduce((sum, peg) => sum + peg.north, 0) / count,
  ];
}

/** Points of the shore from one peg on to another, in the order of the pegs. */
export function stretchPoints(ring: Ring, stretch: Pick<Stretch, "start" | "end">): SitePoint[] {
  const sampled = sampledRing(ring);
  const start = ring.curve.pegs.findIndex((peg) => peg.id === stretch.start);
  const end = ring.curve.pegs.findIndex((peg) => peg.id === stretch.end);
  if (sampled === null || start < 0 || end < 0 || start === end) return [];
  const count = ring.curve.pegs.length;
  const places: SitePoint[] = [];
  for (let step = 0, peg = start; peg !== end && step < count; step += 1, peg = (peg + 1) % count) {
    sampled.points.forEach((point, at) => {
      if (sampled.span[at] === peg) places.push(point);
    });
  }
  return [...places, pegPoint(ring.curve.pegs[end] as Peg)];
}

export function json(value: object): Json {
  return value as unknown as Json;
}

function stretchOps(body: Body, name: RingName, curve: Curve, at: number): Op[] {
  const count = curve.pegs.length;
  const gone = curve.pegs[at]?.id;
  const after = curve.pegs[(at + 1) % count]?.id as string;
  const before = curve.pegs[(at + count - 1) % count]?.id as string;
  return Object.entries(body.stretches ?? {}).flatMap(([id, stretch]): Op[] => {
    if ((stretch.ring ?? OUTER) !== name.ring || (stretch.start !== gone && stretch.end !== gone)) return [];
    const path = pointer("shape", "bodies", name.body, "stretches", id);
    const start = stretch.start === gone ? after : stretch.start;
    const end = stretch.end === gone ? before : stretch.end;
    if (start === end || (stretch.start === gone && start === stretch.end) || (stretch.end === gone && end === stretch.start)) {
      return [{ op: "remove", path }];
    }
    return [{ op: "replace", path, value: json({ ...stretch, start, end }) }];
  });
}

function replaceOutline(body: string, outline: Body["outline"]): Op {
  return { op: "replace", path: pointer("shape", "bodies", body, "outline"), value: json(outline) };
}

function ringPath({ body, ring }: RingName): string {
  return ring === OUTER
    ? pointer("shape", "bodies", body, "outline", "curve")
    : pointer("shape", "bodies", body, "islands", ring);
}

function points(curve: Curve): SitePoint[] {
  return curve.pegs.map(pegPoint);
}

function corners(curve: Curve): boolean[] {
  return curve.pegs.map((peg) => peg.corner ?? false);
}

function without<T>(otherwise: T, make: () => T): T {
  try {
    return make();
  } catch {
    return otherwise;
  }
}
