/** A drain along its line: what lies at a station, under which ponds it runs, how far a flood backs up. Pure; metres. */

import type { DrainLine, DrainPlace } from "../plan/water-fields";

/** What lies at a station, between the places on either side; null beyond the ends. */
export function drainPlaceAt(places: readonly DrainPlace[], station: number): DrainPlace | null {
  const [first, last] = [places[0], places.at(-1)];
  if (!first || !last || station < first.station - 1e-9 || station > last.station + 1e-9) return null;
  const after = Math.max(1, places.findIndex((place) => place.station >= station - 1e-9));
  const [from, to] = [places[after - 1] as DrainPlace, places[after] ?? last];
  const share = to.station > from.station ? (station - from.station) / (to.station - from.station) : 0;
  const mix = (one: number, other: number): number => one + share * (other - one);
  return {
    station,
    point: [mix(from.point[0], to.point[0]), mix(from.point[1], to.point[1])],
    invert: mix(from.invert, to.invert),
    ground: mix(from.ground, to.ground),
    finish: mix(from.finish, to.finish),
    under: mix(from.under, to.under),
    lined: share < 0.5 ? from.lined : to.lined,
    water: from.water === null || to.water === null ? null : mix(from.water, to.water),
  };
}

/** Stretches that run under a liner. */
export function linedRuns(places: readonly DrainPlace[]): DrainPlace[][] {
  const runs: DrainPlace[][] = [];
  let open: DrainPlace[] | null = null;
  for (const place of places) {
    if (!place.lined) open = null;
    else if (open) open.push(place);
    else runs.push((open = [place]));
  }
  return runs.filter((run) => run.length > 1);
}

/** Station up to which the flood at the lower end stands in the pipe; that of the end where it only reaches its mouth. */
export function floodReach({ places, flood }: DrainLine): number | null {
  const last = places.at(-1);
  if (flood === null || !last) return null;
  let reach = last.station;
  for (const { station, invert } of places.toReversed()) {
    if (invert > flood) break;
    reach = station;
  }
  // Below the mouth its level is shown over the last part, so that it is seen.
  return reach === last.station ? 0.9 * last.station : reach;
}
