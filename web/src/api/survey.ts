/** Rows of the survey beyond its shots, as JSON. Checked against the JSON Schema in a test. */

import type { Point, Row, Rows, SoilLayer, Curve } from "./types";

export type PointPlace = { readonly at: "point" } & Point;

export interface Mark extends Row {
  readonly place?: PointPlace | null;
  readonly elevation?: number | null;
  readonly sigma?: number | null;
}

export interface Reading {
  readonly point: string;
  readonly rod: number;
  readonly kind?: "side" | "turn" | "check";
  readonly distance?: number | null;
  readonly noted?: number | null;
}

export interface SetUp {
  readonly station: string;
  readonly backsights: readonly Reading[];
  readonly readings?: readonly Reading[];
}

export interface TwoPegTest {
  readonly middle_a: number;
  readonly middle_b: number;
  readonly near_a: number;
  readonly near_b: number;
  readonly sight_difference: number;
}

export interface Book extends Row {
  readonly instrument?: string;
  readonly unit?: "m" | "ft" | "ft_in";
  readonly reads?: "down" | "up";
  readonly adjust?: "set_ups" | "distance";
  readonly date?: string | null;
  readonly two_peg?: TwoPegTest | null;
  readonly set_ups?: readonly SetUp[];
}

export interface Survey extends Row {
  readonly date?: string | null;
  readonly replaces?: boolean;
  readonly place?: { readonly at: "ring"; readonly curve: Curve } | null;
}

export interface Cloud extends Row {
  readonly file: string;
  readonly from_file?: string;
  readonly kind: "cloud" | "grid" | "surface";
  readonly count?: number;
  readonly epsg?: number | null;
  readonly east?: readonly number[];
  readonly north?: readonly number[];
  readonly elevation?: readonly number[];
  readonly tolerance?: number | null;
  readonly sigma?: number | null;
  readonly survey?: string | null;
}

export interface ProbeLayer {
  readonly kind: SoilLayer["kind"];
  readonly thickness: number;
}

export interface WaterRise {
  readonly time: number;
  readonly depth: number;
}

export interface Probe extends Row {
  readonly place: PointPlace;
  readonly how?: "rod" | "pit" | "bore";
  readonly date?: string | null;
  readonly layers?: readonly ProbeLayer[];
  readonly water_depth?: number | null;
  readonly rises?: readonly WaterRise[];
}

export interface WaterMark extends Row {
  readonly elevation: number;
  readonly season: "dry" | "usual" | "wet" | "flood";
  readonly how?: "measured" | "seen" | "told";
  readonly date?: string | null;
  readonly place?: PointPlace | null;
}

/** Parts of the site that this file tells the form of. */
export interface SurveyOfSite {
  readonly marks?: Rows<Mark>;
  readonly books?: Rows<Book>;
  readonly surveys?: Rows<Survey>;
  readonly clouds?: Rows<Cloud>;
  readonly probes?: Rows<Probe>;
  readonly water_marks?: Rows<WaterMark>;
}
