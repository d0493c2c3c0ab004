/** Streams: stations along the middle line, and the falls on it. The banks themselves are the server's. */

import type { Body, CorridorOutline, Job, Step } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { type Op, pointer } from "../state/ops";
import { distance } from "./plane";
import { json, sampledRing } from "./rings";

export const FIRST_DROP = 0.3; // metres of a fall that nobody has told yet
export const FIRST_WIDTH = 1.0;
/** Falls keep so far from the ends of the stream and from one another [m]. */
const APART = 0.05;

/** The middle line of a stream with what is known at each of its points. */
export interface StreamLine {
  readonly body: string;
  readonly outline: CorridorOutline;
  readonly points: readonly SitePoint[];
  readonly stations: readonly number[];
  readonly widths: readonly number[];
  readonly length: number;
}

/** A fall as it lies on the plan. */
export interface Fall extends Step {
  readonly body: string;
  /** Its number in the row of falls. */
  readonly at: number;
  readonly point: SitePoint;
  /** Unit vector downstream. */
  readonly along: SitePoint;
  readonly width: number;
}

export function corridorOf(body: Body | undefined): CorridorOutline | null {
  return body?.outline.form === "corridor" ? body.outline : null;
}

const lines = new WeakMap<CorridorOutline, Omit<StreamLine, "body"> | null>();

/** The line of a stream, or null when the body is none or its pegs make none. */
export function streamLine(job: Job, body: string): StreamLine | null {
  const outline = corridorOf(job.shape.bodies?.[body]);
  if (outline === null) return null;
  let known = lines.get(outline);
  if (known === undefined) {
    known = lineOf(outline);
    lines.set(outline, known);
  }
  return known && { ...known, body };
}

export function streamsOf(job: Job): StreamLine[] {
  return Object.keys(job.shape.bodies ?? {}).flatMap((body) => {
    const line = streamLine(job, body);
    return line ? [line] : [];
  });
}

/** Place of a station, which way the water runs there, and how wide the stream is. */
export function atStation({ points, stations, widths, length }: StreamLine, station: number): { point: SitePoint; along: SitePoint; width: number } {
  const wanted = Math.min(Math.max(station, 0), length);
  const after = Math.max(1, stations.findIndex((one) => one >= wanted));
  const [from, to] = [points[after - 1] as SitePoint, points[after] as SitePoint];
  const [start, end] = [stations[after - 1] as number, stations[after] as number];
  const share = end > start ? (wanted - start) / (end - start) : 0;
  const long = distance(from, to) || 1;
  const mix = (one: number, other: number): number => one + share * (other - one);
  return {
    point: [mix(from[0], to[0]), mix(from[1], to[1])],
    along: [(to[0] - from[0]) / long, (to[1] - from[1]) / long],
    width: mix(widths[after - 1] as number, widths[after] as number),
  };
}

/** Station of the place of the line that is nearest to a place, and how far that is. */
export function stationNear({ points, stations }: StreamLine, [east, north]: SitePoint): { station: number; distance: number } {
  let best = { station: 0, distance: Infinity };
  for (let at = 1; at < points.length; at += 1) {
    const [from, to] = [points[at - 1] as SitePoint, points[at] as SitePoint];
    const along: SitePoint = [to[0] - from[0], to[1] - from[1]];
    const square = along[0] ** 2 + along[1] ** 2;
    const raw = square > 0 ? ((east - from[0]) * along[0] + (north - from[1]) * along[1]) / square : 0;
    const share = Math.min(1, Math.max(0, raw));
    const away = Math.hypot(from[0] + share * along[0] - east, from[1] + share * along[1] - north);
    if (away < best.distance) best = { station: (stations[at - 1] as number) + share * Math.sqrt(square), distance: away };
  }
  return best;
}

export function fallsOf(line: StreamLine): Fall[] {
  return (line.outline.steps ?? []).map((step, at) => ({ ...step, ...atStation(line, step.distance), body: line.body, at }));
}

/** The two ends of the bar by which a fall is drawn, over its whole width. */
export function barOf({ point, along, width }: Pick<Fall, "point" | "along" | "width">, over = 0): readonly [SitePoint, SitePoint] {
  const half = width / 2 + over;
  return [
    [point[0] - along[1] * half, point[1] + along[0] * half],
    [point[0] + along[1] * half, point[1] - along[0] * half],
  ];
}

/** Operations that add a fall, and the number it gets: falls stand in the order of the water. */
export function addFallOps(line: StreamLine, station: number, drop: number): { ops: Op[]; at: number } {
  const own = { distance: kept(line, station), drop };
  const steps = [...(line.outline.steps ?? []), own].sort((one, other) => one.distance - other.distance);
  return { ops: [stepsOp(line, steps)], at: steps.indexOf(own) };
}

/** Operations that move a fall along the stream, no farther than to its neighbours, or give it another drop. */
export function changeFallOps(line: StreamLine, at: number, change: Partial<Step>): Op[] {
  const steps = line.outline.steps ?? [];
  const own = steps[at];
  if (own === undefined) return [];
  const low = (steps[at - 1]?.distance ?? 0) + APART;
  const high = (steps[at + 1]?.distance ?? line.length) - APART;
  const distance = Math.min(Math.max(change.distance ?? own.distance, low), Math.max(low, high));
  return [stepsOp(line, steps.with(at, { ...own, ...change, distance }))];
}

export function removeFallOps(line: StreamLine, at: number): Op[] {
  return [stepsOp(line, (line.outline.steps ?? []).toSpliced(at, 1))];
}

/** Operations that set the width at a peg, or at all of them. */
export function widthOps(line: StreamLine, peg: number | null, width: number): Op[] {
  const widths = line.outline.widths.map((own, at) => (peg === null || at === peg ? width : own));
  return [{ op: "replace", path: pointer("shape", "bodies", line.body, "outline"), value: json({ ...line.outline, widths }) }];
}

function stepsOp(line: StreamLine, steps: readonly Step[]): Op {
  return { op: "add", path: pointer("shape", "bodies", line.body, "outline", "steps"), value: steps.map((step) => ({ ...step })) };
}

function kept({ length }: StreamLine, station: number): number {
  return Math.min(Math.max(station, APART), Math.max(APART, length - APART));
}

function lineOf(outline: CorridorOutline): Omit<StreamLine, "body"> | null {
  const sampled = sampledRing({ curve: outline.curve, open: true });
  if (sampled === null || sampled.points.length < 2) return null;
  const stations: number[] = [0];
  for (let at = 1; at < sampled.points.length; at += 1) {
    stations.push((stations[at - 1] as number) + distance(sampled.points[at - 1] as SitePoint, sampled.points[at] as SitePoint));
  }
  // Between two pegs the width runs over evenly with the parameter of the curve, as on the server.
  const widths = sampled.points.map((_, at) => {
    const peg = sampled.span[at] as number;
    const from = outline.widths[peg] ?? FIRST_WIDTH;
    const to = outline.widths[peg + 1] ?? from;
    return from + (sampled.parameter[at] as number) * (to - from);
  });
  return { outline, points: sampled.points, stations, widths, length: stations.at(-1) as number };
}

/** Row of a new stream through places, downstream. */
export function newStream(curve: CorridorOutline["curve"], width: number, rank: number): Body {
  return { role: "stream", rank, outline: { form: "corridor", curve, widths: curve.pegs.map(() => width) } };
}

/** Fall under a press: on its bar, or beside its ends. */
export function fallAt(job: Job, place: SitePoint, within: number): Fall | null {
  let best: Fall | null = null;
  let least = within;
  for (const line of streamsOf(job)) {
    for (const fall of fallsOf(line)) {
      const [from, to] = barOf(fall);
      const along: SitePoint = [to[0] - from[0], to[1] - from[1]];
      const square = along[0] ** 2 + along[1] ** 2 || 1;
      const share = Math.min(1, Math.max(0, ((place[0] - from[0]) * along[0] + (place[1] - from[1]) * along[1]) / square));
      const away = distance([from[0] + share * along[0], from[1] + share * along[1]], place);
      if (away > least) continue;
      best = fall;
      least = away;
    }
  }
  return best;
}

/** Stream under a press, with the station there. */
export function streamAt(job: Job, place: SitePoint, within: number): { readonly line: StreamLine; readonly station: number } | null {
  let best: { readonly line: StreamLine; readonly station: number } | null = null;
  let least = within;
  for (const line of streamsOf(job)) {
    const near = stationNear(line, place);
    const away = Math.max(0, near.distance - atStation(line, near.station).width / 2);
    if (away > least) continue;
    best = { line, station: near.station };
    least = away;
  }
  return best;
}

