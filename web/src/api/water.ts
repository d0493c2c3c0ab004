/** Water in the ground, as the document has it. Checked against the JSON Schema in a test. */

import type { PointPlace, RingPlace } from "./earth";
import type { Place, Row, Rows } from "./types";

export type LinePlace = Extract<Place, { readonly at: "line" }>;
export type ReadingKind = "standpipe" | "seep" | "spring" | "ditch" | "pond";
export type PipeWall = "corrugated" | "smooth";
export type Season = "dry" | "wet";

export interface Reading extends Row {
  readonly kind: ReadingKind;
  readonly place: PointPlace | LinePlace | RingPlace;
  readonly dry?: number | null;
  readonly wet?: number | null;
  readonly dry_flow?: number | null;
  readonly wet_flow?: number | null;
  readonly sigma?: number | null;
}

export interface Drain extends Row {
  readonly place: LinePlace;
  readonly inverts?: readonly number[];
  readonly fall?: number | null;
  readonly into?: string | null;
  readonly slotted?: boolean;
  readonly diameter?: number;
  readonly wall?: PipeWall;
  readonly opening?: number | null;
  readonly envelope?: number | null;
  readonly gravel?: string | null;
  readonly fabric?: string | null;
  readonly working?: boolean;
}

export interface Outlet extends Row {
  readonly place: PointPlace;
  readonly invert: number;
  readonly flood?: number | null;
}

export interface Sump extends Row {
  readonly place: PointPlace;
  readonly on: number;
  readonly off: number;
  readonly pump: number;
  readonly standby?: boolean;
  readonly backup?: number | null;
}

export interface PipeOnHand extends Row {
  readonly length: number;
  readonly diameter: number;
  readonly slotted?: boolean;
  readonly wall?: PipeWall;
}

export interface SitePump extends Row {
  readonly flow: number;
  readonly day?: number | null;
}

export interface Vent extends Row {
  readonly place: PointPlace;
}

export interface GasWay {
  readonly layer?: "none" | "fabric" | "strips";
  readonly mass?: number | null;
}

export interface Building {
  readonly pumps?: Rows<SitePump>;
  readonly drop?: number | null;
  readonly season?: Season;
  readonly goes?: string;
  readonly dry_below?: number | null;
}

export interface GroundwaterOfJob {
  readonly readings?: Rows<Reading>;
  readonly drains?: Rows<Drain>;
  readonly outlets?: Rows<Outlet>;
  readonly sumps?: Rows<Sump>;
  readonly pipes?: Rows<PipeOnHand>;
  readonly gravels?: Rows<Row>;
  readonly fabrics?: Rows<Row>;
  readonly vents?: Rows<Vent>;
  readonly gas?: GasWay;
  readonly building?: Building;
}
