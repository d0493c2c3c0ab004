/** Small bridge from places to the features of the map library. */

import Feature from "ol/Feature";
import LineString from "ol/geom/LineString";
import MultiLineString from "ol/geom/MultiLineString";
import Point from "ol/geom/Point";
import Polygon from "ol/geom/Polygon";
import type { SitePoint } from "../../geometry/types";

type Values = Readonly<Record<string, unknown>>;

export function pointFeature(point: SitePoint, values: Values = {}): Feature {
  return new Feature({ ...values, geometry: new Point([...point]) });
}

export function lineFeature(line: readonly SitePoint[], values: Values = {}): Feature {
  return new Feature({ ...values, geometry: lineString(line) });
}

export function linesFeature(lines: readonly (readonly SitePoint[])[], values: Values = {}): Feature {
  return new Feature({ ...values, geometry: new MultiLineString(lines.map(plain)) });
}

export function polygonFeature(rings: readonly (readonly SitePoint[])[], values: Values = {}): Feature {
  return new Feature({ ...values, geometry: new Polygon(rings.map((ring) => plain(closed(ring)))) });
}

export function lineString(line: readonly SitePoint[]): LineString {
  return new LineString(plain(line));
}

/** Ring with its first place again at its end. */
export function closed(ring: readonly SitePoint[]): readonly SitePoint[] {
  const [first] = ring;
  return first ? [...ring, first] : ring;
}

export function plain(line: readonly SitePoint[]): number[][] {
  return line.map(([east, north]) => [east, north]);
}
