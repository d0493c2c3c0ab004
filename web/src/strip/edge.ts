/** The edge of the water as one long line: what stands where along it. Pure; heights and stations in metres. */

import type { Field } from "../api/frame";
import type { Job, Point } from "../api/types";
import { rowsOf } from "../charts/fields";
import type { SitePoint } from "../geometry/types";
import { OUTER, type RingName, ringOf } from "../plan/rings";

/** What opens a shore because somebody wants it: the mouth of a water, or an overflow. */
export type Opening = NonNullable<Field["head"]["openings"]>[number];

export interface EdgePlace {
  readonly station: number;
  readonly east: number;
  readonly north: number;
  /** Existing ground. */
  readonly ground: number;
  /** The highest that the water would have to climb. */
  readonly rim: number;
  /** Top of the bank that is built; lower than the rim where a cut face rises behind it. */
  readonly crest: number;
  readonly opening: Opening | null;
  readonly water: number;
  /** Height wanted above the water. */
  readonly freeboard: number;
  /** How far the water stands here below that of the body: of a stream the falls above it. */
  readonly drop: number;
  /** Whether a way reaches it: 1 yes, 0 no, -1 not known. */
  readonly reached: number;
  /** Groundwater of the wet season once the job is built, and the underside of the liner at the shore; null where nobody knows. */
  readonly below: number | null;
  readonly liner: number | null;
  /** Height at which the liner ends behind the edge stone; null while nobody knows. */
  readonly linerEdge: number | null;
  /** Top of the stone at the shore; null where none stands. */
  readonly stoneTop: number | null;
}

/** Banks of a stream, by which its one ring is unrolled. */
export const BANKS: ReadonlySet<string> = new Set(["left", "right"]);

/** One ring, or one bank of a stream, unrolled. */
export interface Edge extends RingName {
  readonly length: number;
  /** Places in the order of the stations, the first one again at the end. */
  readonly places: readonly EdgePlace[];
  /** Whether the stations run against the order of the pegs. */
  readonly reversed: boolean;
}

export interface Spot {
  /** What is the matter: the ground must be raised to it, the finished bank is too low, water runs over it, or it is open on purpose. */
  readonly kind: "raise" | "low" | "spills" | Opening["kind"];
  /** Stations; `from` is larger than `to` when the spot runs over the seam. */
  readonly from: number;
  readonly to: number;
  readonly length: number;
  readonly lowest: EdgePlace;
  /** How much is missing at the lowest place. */
  readonly short: number;
}

interface Piece {
  from: number;
  to: number;
  lowest: EdgePlace;
}

/** Rise of a cut face over the crest that is worth the word [m]. */
const FACE = 0.05;

/** What a bank may lie under its freeboard before it is called low, as on paper [m]. */
const LOW = 0.03;

/** Less than this is noise of 32-bit numbers and no low spot [m]. */
const NOISE = 0.002;

export interface BankBand {
  readonly from: number;
  readonly to: number;
  /** Id of the bank type; null is the standard bank. */
  readonly bankType: string | null;
}

export interface PegTick {
  readonly id: string;
  readonly station: number;
}

/** Shores of a frame, each of a body of the job: its outer shore, its islands, or both banks of a stream. */
export function edgesOf(fields: readonly Field[], job: Job | null): Edge[] {
  return fields.flatMap((field): Edge[] => {
    const { body, ring: name = OUTER } = field.head;
    const isBank = BANKS.has(name);
    const ring = job && body ? ringOf(job, { body, ring: isBank ? OUTER : name }) : null;
    if (!ring || ring.open !== isBank) return [];
    const run = placesOf(rowsOf(field), field.head.openings ?? []);
    const places = isBank ? run : closed(run);
    const last = places.at(-1);
    if (!last || places.length < 4) return [];
    const reversed = !isBank && Math.sign(turning(places)) !== Math.sign(turning(ring.curve.pegs));
    return [{ body: ring.body, ring: name, length: last.station, places, reversed }];
  });
}

/** Stretches of the edge that a way reaches, from station to station; null where nobody knows. */
export function reachedSpans({ places }: Edge): (readonly [from: number, to: number])[] | null {
  if (places.some(({ reached }) => reached < 0)) return null;
  const spans: [number, number][] = [];
  places.forEach(({ reached, station }, at) => {
    const before = places[at - 1];
    if (reached <= 0) return;
    const last = spans.at(-1);
    if (last && before && before.reached > 0) last[1] = station;
    else spans.push([station, station]);
  });
  return spans.filter(([from, to]) => to > from);
}

/** What stands at a station, between the places on either side. */
export function placeAt({ places, length }: Edge, station: number): EdgePlace {
  const wanted = Math.min(Math.max(station, 0), length);
  const after = places.findIndex((place) => place.station >= wanted);
  const to = places[Math.max(after, 0)] as EdgePlace;
  const from = places[Math.max(after - 1, 0)] as EdgePlace;
  const share = to.station > from.station ? (wanted - from.station) / (to.station - from.station) : 0;
  const between = (one: number, other: number): number => one + share * (other - one);
  const mix = (key: Exclude<keyof EdgePlace, "below" | "liner" | "linerEdge" | "stoneTop" | "opening">): number => between(from[key], to[key]);
  const mixKnown = (key: "below" | "liner" | "linerEdge" | "stoneTop"): number | null => (from[key] === null || to[key] === null ? null : between(from[key], to[key]));
  return {
    station: wanted,
    east: mix("east"),
    north: mix("north"),
    ground: mix("ground"),
    rim: mix("rim"),
    crest: mix("crest"),
    opening: share < 0.5 ? from.opening : to.opening,
    water: mix("water"),
    freeboard: mix("freeboard"),
    drop: from.drop === to.drop ? from.drop : share < 0.5 ? from.drop : to.drop,
    reached: share < 0.5 ? from.reached : to.reached,
    below: mixKnown("below"),
    liner: mixKnown("liner"),
    linerEdge: mixKnown("linerEdge"),
    stoneTop: mixKnown("stoneTop"),
  };
}

/** Station nearest to a point of the site, and how far the point is from the edge. */
export function stationNear({ places }: Edge, [east, north]: SitePoint): { station: number; distance: number } {
  let best = { station: 0, distance: Infinity };
  for (let at = 1; at < places.length; at += 1) {
    const from = places[at - 1] as EdgePlace;
    const to = places[at] as EdgePlace;
    const [along, up] = [to.east - from.east, to.north - from.north];
    const square = along * along + up * up;
    const raw = square > 0 ? ((east - from.east) * along + (north - from.north) * up) / square : 0;
    const share = Math.min(Math.max(raw, 0), 1);
    const distance = Math.hypot(from.east + share * along - east, from.north + share * up - north);
    if (distance < best.distance) best = { station: from.station + share * (to.station - from.station), distance };
  }
  return best;
}

/** Whether a cut face rises on behind the crest. */
export function hasFace({ rim, crest }: EdgePlace): boolean {
  return rim - crest > FACE;
}

/** Stretches where the finished bank is lower than the freeboard asks, and nothing opens there on purpose; the worst first. */
export function lowSpots(edge: Edge, level: number, freeboard: number): Spot[] {
  return spotsUnder(edge, rimOf(null), level + freeboard)
    .map((spot): Spot => ({ ...spot, kind: spot.lowest.rim < level - spot.lowest.drop - NOISE ? "spills" : "low" }))
    .filter(({ kind, short }) => kind === "spills" || short > LOW);
}

/** Mouths and overflows where the bank is lower than the freeboard asks because it should be. */
export function openSpots(edge: Edge, level: number, freeboard: number): Spot[] {
  const openings = new Set(edge.places.flatMap(({ opening }) => opening ?? []));
  return [...openings].flatMap((opening) =>
    spotsUnder(edge, rimOf(opening), level + freeboard).map((spot): Spot => ({ ...spot, kind: opening.kind })),
  );
}

/** The rim where that opens, or where nothing does; elsewhere as high as nobody asks. */
function rimOf(opening: Opening | null): (place: EdgePlace) => number {
  return (place) => (place.opening === opening ? place.rim : Infinity);
}

/** Stretches where the ground of today must be raised to keep the freeboard, the deepest first. */
export function raisedSpots(edge: Edge, level: number, freeboard: number): Spot[] {
  return spotsUnder(edge, ({ ground }) => ground, level + freeboard).map((spot) => ({ ...spot, kind: "raise" }));
}

function spotsUnder(edge: Edge, height: (place: EdgePlace) => number, wanted: number): Omit<Spot, "kind">[] {
  const short = (place: EdgePlace): number => wanted - place.drop - height(place);
  const spots: Piece[] = [];
  let open: Piece | null = null;
  let before: EdgePlace | null = null;
  for (const place of edge.places) {
    const low = short(place) > NOISE;
    if (low && !open) {
      open = { from: before ? crossing(before, place, short) : place.station, to: place.station, lowest: place };
      spots.push(open);
    }
    if (open) open.to = low || !before ? place.station : crossing(before, place, short);
    if (open && low && short(place) > short(open.lowest)) open.lowest = place;
    if (!low) open = null;
    before = place;
  }
  return (BANKS.has(edge.ring) ? spots : joinedAtSeam(spots, edge.length, short))
    .map((spot) => ({
      ...spot,
      length: spot.to >= spot.from ? spot.to - spot.from : edge.length - spot.from + spot.to,
      short: short(spot.lowest),
    }))
    .sort((one, other) => other.short - one.short);
}

/** The spans of a piece that may run over the seam, each from left to right. */
export function unseamed({ from, to }: { from: number; to: number }, length: number): (readonly [number, number])[] {
  return from <= to ? [[from, to]] : [[from, length], [0, to]];
}

/** Pegs of a ring as stations, in the order of the stations. */
export function pegTicks(edge: Edge, job: Job | null): PegTick[] {
  const ring = BANKS.has(edge.ring) ? OUTER : edge.ring;
  const pegs = (job && ringOf(job, { body: edge.body, ring }))?.curve.pegs ?? [];
  return pegs
    .map(({ id, east, north }) => ({ id, station: stationNear(edge, [east, north]).station }))
    .sort((one, other) => one.station - other.station);
}

/** Bank types from here to here all round; a later stretch lies over an earlier one. */
export function bankBands(edge: Edge, job: Job | null): BankBand[] {
  const body = job?.shape.bodies?.[edge.body];
  const stations = new Map(pegTicks(edge, job).map(({ id, station }) => [id, station]));
  const pieces = Object.values(body?.stretches ?? {}).flatMap(({ ring = OUTER, start, end, bank_type }) => {
    const [first, last] = [stations.get(edge.reversed ? end : start), stations.get(edge.reversed ? start : end)];
    if (ring !== edge.ring || first === undefined || last === undefined) return [];
    return unseamed({ from: first, to: last }, edge.length).map(([from, to]) => ({ from, to, bankType: bank_type }));
  });
  const stops = [...new Set([0, edge.length, ...pieces.flatMap(({ from, to }) => [from, to])])].sort((a, b) => a - b);
  const bands: { from: number; to: number; bankType: string | null }[] = [];
  for (let at = 1; at < stops.length; at += 1) {
    const [from, to] = [stops[at - 1] as number, stops[at] as number];
    const middle = (from + to) / 2;
    const own = pieces.findLast((piece) => piece.from <= middle && middle <= piece.to);
    const bankType = own?.bankType ?? body?.bank_type ?? null;
    const last = bands.at(-1);
    if (last?.bankType === bankType && last.to === from) last.to = to;
    else bands.push({ from, to, bankType });
  }
  return bands;
}

const UNKNOWN = -9999; // metres: what stands for nobody knows

function placesOf(rows: readonly (readonly number[])[], openings: readonly Opening[]): EdgePlace[] {
  const top = Math.max(...rows.map(([, , , , , water = 0]) => water));
  return rows.map(([station = 0, east = 0, north = 0, ground = 0, rim = 0, water = 0, freeboard = 0, , reached = -1, below = UNKNOWN, liner = UNKNOWN, linerEdge = UNKNOWN, stoneTop = UNKNOWN, crest = rim, opening = -1]) => ({
    station,
    east,
    north,
    ground,
    rim,
    crest,
    opening: openings[opening] ?? null,
    water,
    freeboard,
    drop: Number((top - water).toFixed(4)),
    reached,
    below: below > UNKNOWN + 1 ? below : null,
    liner: liner > UNKNOWN + 1 ? liner : null,
    linerEdge: linerEdge > UNKNOWN + 1 ? linerEdge : null,
    stoneTop: stoneTop > UNKNOWN + 1 ? stoneTop : null,
  }));
}

/** A ring's places with the first one again at the end, at the full length. */
function closed(run: readonly EdgePlace[]): EdgePlace[] {
  const first = run[0];
  const last = run.at(-1);
  if (!first || !last) return [];
  const gap = Math.hypot(first.east - last.east, first.north - last.north);
  return gap < 1e-3 ? [...run] : [...run, { ...first, station: last.station + gap }];
}

/** Twice the area that a ring goes round, positive when it turns left. */
function turning(places: readonly Point[]): number {
  return places.reduce((sum, from, at) => {
    const to = places[(at + 1) % places.length] as Point;
    return sum + from.east * to.north - to.east * from.north;
  }, 0);
}

function crossing(from: EdgePlace, to: EdgePlace, short: (place: EdgePlace) => number): number {
  const [a, b] = [short(from), short(to)];
  if (!Number.isFinite(a) || !Number.isFinite(b)) return (from.station + to.station) / 2;
  return from.station + (a / (a - b)) * (to.station - from.station);
}

function joinedAtSeam(spots: readonly Piece[], length: number, short: (place: EdgePlace) => number): Piece[] {
  const first = spots[0];
  const last = spots.at(-1);
  if (!first || !last || first === last || first.from > 0 || last.to < length) return [...spots];
  const lowest = short(first.lowest) > short(last.lowest) ? first.lowest : last.lowest;
  return [...spots.slice(1, -1), { ...last, to: first.to, lowest }];
}
