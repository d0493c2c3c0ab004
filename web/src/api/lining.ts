/** The lining, as the document has it. Checked against the JSON Schema in a test. */

import type { PointPlace } from "./earth";
import type { Place, Row, Rows } from "./types";
import type { LinePlace } from "./water";

export type StretchPlace = Extract<Place, { readonly at: "stretch" }>;
export type EdgeDetail = "upturn" | "anchor" | "wall";
export type GuardKind = "root" | "burrow";
export type Over = "no" | "could" | "not_asked";

export interface Stock {
  readonly width: number;
  readonly length: number;
}

export interface Liner extends Row {
  readonly bodies: readonly string[];
  readonly membrane?: string | null;
  readonly cushion_below?: string | null;
  readonly cushion_above?: string | null;
  readonly one_piece?: boolean;
  readonly parts?: boolean;
  readonly stock?: readonly Stock[];
  readonly seam?: number | null;
  readonly margin?: number | null;
  readonly along?: number | null;
  readonly ordered?: "before" | "after";
}

export interface LinerEdge extends Row {
  readonly place: StretchPlace;
  readonly detail?: EdgeDetail;
  readonly height?: number | null;
  readonly upturn?: number | null;
  readonly capillary_break?: boolean;
}

export interface Penetration extends Row {
  readonly place: PointPlace;
  readonly diameter: number;
  readonly boot?: string | null;
  readonly over?: Over;
}

export interface Patch extends Row {
  readonly place: PointPlace;
  readonly size?: number;
}

export interface Guard extends Row {
  readonly kind: GuardKind;
  readonly place: LinePlace | StretchPlace;
  readonly depth: number;
}

export interface TapeCheck extends Row {
  readonly place: LinePlace;
  readonly taped?: number | null;
  readonly note_of?: string;
}

export interface PullDay {
  readonly people?: number | null;
  readonly wind?: number | null;
  readonly temperature?: number | null;
  readonly machine?: boolean;
}

export interface LiningOfJob {
  readonly liners?: Rows<Liner>;
  readonly edges?: Rows<LinerEdge>;
  readonly penetrations?: Rows<Penetration>;
  readonly patches?: Rows<Patch>;
  readonly guards?: Rows<Guard>;
  readonly tapes?: Rows<TapeCheck>;
  readonly pull?: PullDay;
}

/** An item of the catalogue, as far as the rooms ask for it. */
export interface Item extends Row {
  readonly kind: string;
  readonly facts?: Readonly<Record<string, number | string>>;
}
