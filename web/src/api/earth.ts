/** How soil is moved, as the document has it. Checked against the JSON Schema in a test. */

import type { Place, Row, Rows, SoilLayer } from "./types";

export type SoilKind = SoilLayer["kind"];
export type Takes = "topsoil" | "soil" | "muck" | "any";
export type PointPlace = Extract<Place, { readonly at: "point" }>;
export type RingPlace = Extract<Place, { readonly at: "ring" }>;

export interface Truck extends Row {
  readonly box: number;
  /** None is what its axles may carry by law, less what it weighs empty. */
  readonly payload?: number | null;
  readonly axles?: number;
  readonly spread?: number | null;
  readonly tare?: number | null;
  readonly speed?: number | null;
}

export interface Machine extends Row {
  readonly kind: "excavator" | "loader" | "dumper";
  readonly bucket: number;
  readonly fill?: number | null;
  readonly cycle: number;
  readonly speed?: number | null;
  readonly efficiency?: number | null;
}

export interface Compactor extends Row {
  readonly width?: number | null;
  readonly speed?: number | null;
  readonly layer?: number | null;
  readonly passes?: number | null;
  readonly efficiency?: number | null;
}

export interface Pile extends Row {
  readonly place: PointPlace | RingPlace;
  readonly takes?: Takes;
  readonly most_height?: number | null;
  readonly angle?: number | null;
}

export interface OffSite extends Row {
  readonly way: "export" | "import";
  readonly gate: PointPlace;
  readonly distance: number;
  readonly takes?: Takes;
  readonly truck?: string | null;
  readonly most?: number | null;
}

export interface Counted extends Row {
  readonly kind: SoilKind;
  readonly bank: number;
  readonly loads: number;
  readonly box: number;
}

export interface EarthOfJob {
  readonly trucks?: Rows<Truck>;
  readonly machines?: Rows<Machine>;
  readonly compactors?: Rows<Compactor>;
  readonly piles?: Rows<Pile>;
  readonly off_site?: Rows<OffSite>;
  readonly counted?: Rows<Counted>;
}
