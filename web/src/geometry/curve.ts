/**
 * The smooth curve through the pegs: centripetal Catmull-Rom, sampled.
 *
 * The same formula as `pondwright.geometry.curve`, where it is told in full; shared vectors pin both.
 */

import type { SitePoint } from "./types";

export interface Sampled {
  /** Of a closed curve without the first point again. */
  readonly points: readonly SitePoint[];
  /** For each point, the number of the peg at which its span begins. */
  readonly span: readonly number[];
  /** For each point, its parameter in the span, from 0 to 1. */
  readonly parameter: readonly number[];
}

/** One span of a curve: a cubic from its first peg to its second. */
export interface Span {
  readonly peg: number;
  readonly first: SitePoint;
  readonly chord: SitePoint;
  readonly start: SitePoint;
  readonly end: SitePoint;
}

export const POINTS_PER_SPAN = 12;

/** Closed smooth curve through the pegs; throws an Error when they make none. */
export function closedCurve(pegs: readonly SitePoint[], corners: readonly boolean[], pointsPerSpan = POINTS_PER_SPAN): Sampled {
  const sampled = sampledSpans(closedSpans(pegs, corners), pointsPerSpan);
  if (sampled.points.length < 3) throw new Error(`a ring must have at least 3 points, got ${sampled.points.length}`);
  return sampled;
}

/** Open smooth curve from the first peg to the last; throws an Error when they make none. */
export function openCurve(pegs: readonly SitePoint[], corners: readonly boolean[], pointsPerSpan = POINTS_PER_SPAN): Sampled {
  const { points, span, parameter } = sampledSpans(openSpans(pegs, corners), pointsPerSpan);
  if (points.length === 0) throw new Error("a line must have pegs at two places or more");
  return {
    points: [...points, pegs.at(-1) as SitePoint],
    span: [...span, span.at(-1) as number],
    parameter: [...parameter, 1],
  };
}

/** Spans of a closed curve that have a length, in order. */
export function closedSpans(pegs: readonly SitePoint[], corners: readonly boolean[]): Span[] {
  checkPegs(pegs, corners, 3);
  const chords = pegs.map((peg, at) => minus(pegs[(at + 1) % pegs.length] as SitePoint, peg));
  return spansOf(pegs, chords, corners);
}

/** Spans of an open curve that have a length, in order. */
export function openSpans(pegs: readonly SitePoint[], corners: readonly boolean[]): Span[] {
  checkPegs(pegs, corners, 2);
  // The empty span after the last peg makes both end pegs corners and gives no points.
  const chords = pegs.map((peg, at) => minus(pegs[Math.min(at + 1, pegs.length - 1)] as SitePoint, peg));
  return spansOf(pegs, chords, corners);
}

/** Point of a span at a parameter from 0 to 1. */
export function pointOn(span: Span, u: number): SitePoint {
  const along = (axis: 0 | 1): number => {
    const chord = span.chord[axis];
    const start = span.start[axis];
    const end = span.end[axis];
    return span.first[axis] + u * (start + u * (3 * chord - 2 * start - end + u * (start + end - 2 * chord)));
  };
  return [along(0), along(1)];
}

function checkPegs(pegs: readonly SitePoint[], corners: readonly boolean[], least: number): void {
  if (pegs.length < least) throw new Error(`a curve must have at least ${least} pegs, got ${pegs.length}`);
  if (!pegs.every(([east, north]) => Number.isFinite(east) && Number.isFinite(north))) {
    throw new Error("pegs must be finite numbers, got one that is not");
  }
  if (corners.length !== pegs.length) throw new Error(`there must be one corner flag for each of ${pegs.length} pegs`);
}

function spansOf(pegs: readonly SitePoint[], chords: readonly SitePoint[], corners: readonly boolean[]): Span[] {
  const count = pegs.length;
  const lengths = chords.map(([east, north]) => Math.hypot(east, north));
  const before = (at: number): number => (at + count - 1) % count;
  const isCorner = corners.map((corner, at) => corner || lengths[at] === 0 || lengths[before(at)] === 0);
  const knots = lengths.map((length) => (length > 0 ? Math.sqrt(length) : 1));
  const derivatives = pegs.map((_, at): SitePoint => {
    const here = chords[at] as SitePoint;
    const last = chords[before(at)] as SitePoint;
    const a = knots[before(at)] as number;
    const b = knots[at] as number;
    const along = (axis: 0 | 1): number => last[axis] / a - (last[axis] + here[axis]) / (a + b) + here[axis] / b;
    return [along(0), along(1)];
  });
  return pegs.flatMap((first, at): Span[] => {
    const chord = chords[at] as SitePoint;
    if (chord[0] === 0 && chord[1] === 0) return [];
    const next = (at + 1) % count;
    const tangent = (peg: number): SitePoint =>
      isCorner[peg] ? chord : times(derivatives[peg] as SitePoint, knots[at] as number);
    return [{ peg: at, first, chord, start: tangent(at), end: tangent(next) }];
  });
}

function sampledSpans(spans: readonly Span[], pointsPerSpan: number): Sampled {
  const steps = Array.from({ length: pointsPerSpan }, (_, step) => step / pointsPerSpan);
  return {
    points: spans.flatMap((span) => steps.map((u) => pointOn(span, u))),
    span: spans.flatMap((span) => steps.map(() => span.peg)),
    parameter: spans.flatMap(() => steps),
  };
}

function minus(a: SitePoint, b: SitePoint): SitePoint {
  return [a[0] - b[0], a[1] - b[1]];
}

function times(a: SitePoint, factor: number): SitePoint {
  return [a[0] * factor, a[1] * factor];
}
