/** A cut through the ground: what is dug, what is raised, where water stands. Pure; metres. */

import type { Field } from "../api/frame";
import { rowsOf } from "../charts/fields";
import type { Span } from "../charts/scale";
import type { SitePoint } from "../geometry/types";

export interface CutPlace {
  readonly station: number;
  readonly ground: number;
  readonly finish: number;
  readonly subgrade: number;
  /** Level of the water, or null where it is dry. */
  readonly water: number | null;
  /** Where the station lies on the site. */
  readonly point: SitePoint;
  /** Groundwater of the wet season once the job is built, or null where nobody knows it. */
  readonly below: number | null;
}

/** Below this no water is meant, not even on the deepest site [m]. */
const DRY = -9000;

/** Places along a section, from a frame. */
export function placesOf(field: Field | null): CutPlace[] {
  return rowsOf(field).map(([station = 0, ground = 0, finish = 0, subgrade = 0, water = DRY, east = 0, north = 0, below = DRY]) => ({
    station,
    ground,
    finish,
    subgrade,
    water: water > DRY ? water : null,
    point: [east, north],
    below: below > DRY ? below : null,
  }));
}

/** Stretches of a section on which water stands at one level. */
export function waterRuns(places: readonly CutPlace[]): { from: number; to: number; level: number }[] {
  const runs: { from: number; to: number; level: number }[] = [];
  let open: { from: number; to: number; level: number } | null = null;
  for (const { station, water } of places) {
    const same = open && water !== null && Math.abs(water - open.level) < 1e-3;
    if (open && same) open.to = station;
    else if (water !== null) runs.push((open = { from: station, to: station, level: water }));
    else open = null;
  }
  return runs.filter(({ from, to }) => to > from);
}

/** Lines at a station, between the places on either side. */
export function placeOn(places: readonly CutPlace[], station: number): CutPlace | null {
  const first = places[0];
  const last = places.at(-1);
  if (!first || !last || station < first.station || station > last.station) return null;
  const after = Math.max(1, places.findIndex((place) => place.station >= station));
  const from = places[after - 1] as CutPlace;
  const to = places[after] as CutPlace;
  const share = to.station > from.station ? (station - from.station) / (to.station - from.station) : 0;
  const mix = (one: number, other: number): number => one + share * (other - one);
  return {
    station,
    ground: mix(from.ground, to.ground),
    finish: mix(from.finish, to.finish),
    subgrade: mix(from.subgrade, to.subgrade),
    water: from.water !== null && to.water !== null ? mix(from.water, to.water) : null,
    point: [mix(from.point[0], to.point[0]), mix(from.point[1], to.point[1])],
    below: from.below !== null && to.below !== null ? mix(from.below, to.below) : null,
  };
}

/** Station of a section that is nearest to a point of the site, and how far off the point is. */
export function stationAlong(places: readonly CutPlace[], [east, north]: SitePoint): { station: number; distance: number } {
  let best = { station: 0, distance: Infinity };
  for (let at = 1; at < places.length; at += 1) {
    const [before, after] = [places[at - 1] as CutPlace, places[at] as CutPlace];
    const [from, to] = [before.point, after.point];
    const [along, up] = [to[0] - from[0], to[1] - from[1]];
    const square = along * along + up * up;
    const raw = square > 0 ? ((east - from[0]) * along + (north - from[1]) * up) / square : 0;
    const share = Math.min(Math.max(raw, 0), 1);
    const distance = Math.hypot(from[0] + share * along - east, from[1] + share * up - north);
    if (distance < best.distance) best = { station: before.station + share * (after.station - before.station), distance };
  }
  return best;
}

/** Lowest and highest height of all lines of a section. */
export function* heightsOf(places: readonly CutPlace[]): Iterable<number> {
  for (const { ground, finish, subgrade, water, below } of places) {
    yield ground;
    yield finish;
    yield subgrade;
    if (water !== null) yield water;
    if (below !== null) yield below;
  }
}

/** Stations of a section from its first to its last. */
export function stationSpan(places: readonly CutPlace[]): Span {
  return [places[0]?.station ?? 0, places.at(-1)?.station ?? 1];
}

/** How far beyond the water a liner is followed up its bank at most: on low ground it ends there [m]. */
const UP_THE_BANK = 1.5;

/** Stretches that carry a liner: under water, and up each bank until it stands so much over the water. */
export function linedRuns(places: readonly CutPlace[], over = 0): CutPlace[][] {
  const runs: number[][] = [];
  places.forEach(({ water }, at) => {
    if (water === null) return;
    const last = runs.at(-1);
    if (last?.at(-1) === at - 1) last.push(at);
    else runs.push([at]);
  });
  return runs.map((run) => [...upBank(places, run[0] as number, -1, over).reverse(), ...run.map((at) => places[at] as CutPlace), ...upBank(places, run.at(-1) as number, 1, over)]).filter((run) => run.length > 1);
}

/** Places up a bank from the last one under water. */
function upBank(places: readonly CutPlace[], from: number, step: 1 | -1, over: number): CutPlace[] {
  const shore = places[from] as CutPlace;
  const top = (shore.water as number) + over;
  const up: CutPlace[] = [];
  let before = shore;
  for (let at = from + step; over > 0; at += step) {
    const place = places[at];
    if (!place || place.water !== null || Math.abs(before.station - shore.station) > UP_THE_BANK) break;
    if (place.subgrade >= top) {
      const share = place.subgrade > before.subgrade ? (top - before.subgrade) / (place.subgrade - before.subgrade) : 0;
      up.push({ ...before, station: before.station + share * (place.station - before.station), subgrade: top });
      break;
    }
    up.push(place);
    before = place;
  }
  return up;
}
