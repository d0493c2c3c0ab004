/**
 * From latitude and longitude to the zones of the universal transverse Mercator grid.
 *
 * The series of Krüger in powers of the third flattening, to the fourth; within a zone good to less
 * than a millimetre, which is far beyond what a phone knows of its place.
 */

export interface Zone {
  /** Longitude of its middle [rad]. */
  readonly middle: number;
  /** What is added to north: 10 000 km in the south [m]. */
  readonly falseNorth: number;
}

export interface Geographic {
  readonly latitude: number;
  readonly longitude: number;
}

const AXIS = 6_378_137; // of the ellipsoids of WGS 84 and, to a tenth of a millimetre, of GRS 80 [m]
const FLATTENING = 1 / 298.257223563;
const SCALE = 0.9996;
const FALSE_EAST = 500_000; // [m]

const N = FLATTENING / (2 - FLATTENING);
const RADIUS = (AXIS / (1 + N)) * (1 + N ** 2 / 4 + N ** 4 / 64);
const ALPHA = [
  N / 2 - (2 / 3) * N ** 2 + (5 / 16) * N ** 3 + (41 / 180) * N ** 4,
  (13 / 48) * N ** 2 - (3 / 5) * N ** 3 + (557 / 1440) * N ** 4,
  (61 / 240) * N ** 3 - (103 / 140) * N ** 4,
  (49561 / 161280) * N ** 4,
] as const;

/** Ranges of codes of the grid's zones: first code, first zone, zones, whether in the south. */
const CODES = [
  [32601, 1, 60, false],
  [32701, 1, 60, true],
  [25828, 28, 11, false],
  [26901, 1, 23, false],
] as const;

/** Zone of a code of the map grid; null where it is no zone of this grid. */
export function gridOf(epsg: number): Zone | null {
  for (const [code, first, count, isSouth] of CODES) {
    if (epsg < code || epsg >= code + count) continue;
    const zone = first + epsg - code;
    return { middle: ((6 * zone - 183) * Math.PI) / 180, falseNorth: isSouth ? 10_000_000 : 0 };
  }
  return null;
}

/** Place on the grid [m] of a latitude and longitude [rad]. */
export function toGrid({ middle, falseNorth }: Zone, { latitude, longitude }: Geographic): { east: number; north: number } {
  const flat = (2 * Math.sqrt(N)) / (1 + N);
  const sine = Math.sin(latitude);
  const t = Math.sinh(Math.atanh(sine) - flat * Math.atanh(flat * sine));
  const away = longitude - middle;
  const xi = Math.atan2(t, Math.cos(away));
  const eta = Math.atanh(Math.sin(away) / Math.hypot(1, t));
  const sum = (part: (turn: number) => number): number => ALPHA.reduce((total, alpha, at) => total + alpha * part(2 * (at + 1)), 0);
  const east = eta + sum((turn) => Math.cos(turn * xi) * Math.sinh(turn * eta));
  const north = xi + sum((turn) => Math.sin(turn * xi) * Math.cosh(turn * eta));
  return { east: FALSE_EAST + SCALE * RADIUS * east, north: falseNorth + SCALE * RADIUS * north };
}
