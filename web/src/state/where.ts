/** Where the person stands, in the job's own coordinates: only when pressed, and only where the job lies on a map grid. */

import type { Job } from "../api/types";
import { say } from "../format/words";
import { gridOf, toGrid } from "../geometry/map-grid";

export interface Standing {
  readonly east: number;
  readonly north: number;
}

interface MapFrame {
  readonly epsg?: number | null;
  readonly origin_east?: number;
  readonly origin_north?: number;
}

const PATIENCE_MS = 20_000;

/** Whether a position of the phone can be brought into the job. */
export function canLocate({ site }: Job): boolean {
  const { epsg } = (site.frame ?? {}) as MapFrame;
  return epsg !== undefined && epsg !== null && gridOf(epsg) !== null && "geolocation" in navigator;
}

/** Ask the device where it is; throws an Error with one sentence. */
export async function whereIStand({ site }: Job): Promise<Standing> {
  const { epsg, origin_east = 0, origin_north = 0 } = (site.frame ?? {}) as MapFrame;
  const grid = epsg ? gridOf(epsg) : null;
  if (grid === null) throw new Error(say("walk.noGrid"));
  const found = await new Promise<GeolocationPosition>((done, fail) => {
    navigator.geolocation.getCurrentPosition(done, () => fail(new Error(say("walk.noPosition"))), { enableHighAccuracy: true, timeout: PATIENCE_MS });
  });
  const { latitude, longitude } = found.coords;
  const place = toGrid(grid, { latitude: radians(latitude), longitude: radians(longitude) });
  return { east: place.east - origin_east, north: place.north - origin_north };
}

function radians(degrees: number): number {
  return (degrees * Math.PI) / 180;
}
