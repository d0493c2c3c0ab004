/** Stone and gravel, as the document has it. Checked against the JSON Schema in a test. */

import type { PointPlace } from "./earth";
import type { Place, Point, Row, Rows } from "./types";

export type StoneShape = "rounded" | "blocky" | "slab" | "box";
export type Role = "edge" | "shelf" | "spill" | "frame" | "wing" | "stand" | "seat" | "any";
export type TreatmentKind = "courses" | "cobble" | "gravel" | "planted" | "wall" | "deck" | "bare";
export type TreatmentPlace = Extract<Place, { readonly at: "stretch" | "part" | "whole" }>;
export type Stands = "on_hand" | "yard" | "ordered";

export interface StoneClass extends Row {
  readonly low: number;
  readonly high: number;
  readonly shape?: StoneShape;
  readonly solid_density?: number | null;
  readonly item?: string | null;
}

export interface Share {
  readonly stone: string;
  readonly share: number;
}

export interface Treatment extends Row {
  readonly place: TreatmentPlace;
  readonly kind: TreatmentKind;
  readonly classes?: readonly Share[];
  readonly courses?: number;
  readonly gap?: number | null;
  readonly thickness?: number | null;
  readonly porosity?: number | null;
}

export interface Piece extends Row {
  readonly length: number;
  readonly width: number;
  readonly height: number;
  readonly mass?: number | null;
  readonly shape?: StoneShape;
  readonly stands?: Stands;
  readonly role?: Role;
  readonly tag?: string;
  readonly truck?: string;
  readonly place?: PointPlace | null;
  readonly turn?: number | null;
  readonly reserved?: string;
  readonly fall?: string | null;
}

export interface StonePile extends Row {
  readonly mass: number;
  readonly stone?: string | null;
  readonly place?: PointPlace | null;
}

export interface FallStone extends Row {
  readonly body: string;
  readonly step?: number;
  readonly width: number;
  readonly spill?: string | null;
  readonly frame?: string | null;
  readonly wing?: number | null;
  readonly backing?: number | null;
}

export interface ChartRow {
  readonly radius: number;
  readonly height?: number;
  readonly capacity?: number | null;
  readonly tipping?: number | null;
  readonly hydraulic?: number | null;
}

export interface Lifter extends Row {
  readonly chart: readonly ChartRow[];
  readonly tool?: number;
  readonly stands?: readonly Point[];
  readonly mass?: number | null;
  readonly contact?: number | null;
  readonly sling?: number | null;
}

export interface StoneOfJob {
  readonly classes?: Rows<StoneClass>;
  readonly treatments?: Rows<Treatment>;
  readonly pieces?: Rows<Piece>;
  readonly piles?: Rows<StonePile>;
  readonly falls?: Rows<FallStone>;
  readonly lifters?: Rows<Lifter>;
}
