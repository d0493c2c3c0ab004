/** What the server says of a liner beside its figures: its order, and its edge. */

import type { SitePoint } from "../geometry/types";

export type Line = readonly SitePoint[];

export interface JointTold {
  readonly kind: "roll" | "end" | "narrow" | "fall";
  readonly first: string;
  readonly second: string;
  readonly length: number;
  readonly overlap: number;
  readonly line: Line;
}

export interface RollTold {
  readonly width: number;
  readonly length: number;
  readonly rest: number;
  readonly cuts: readonly (readonly [piece: string, length: number])[];
}

export interface TapeTold {
  readonly line: Line;
  /** Whether the server proposes it, because nobody has drawn it. */
  readonly proposed: boolean;
  readonly verdict: "not_taped" | "as_drawn" | "longer" | "short" | "much_shorter";
}

/** What an order says beside its figures; rows of the array are the corners of its pieces. */
export interface OrderHead {
  readonly material: string;
  readonly form: "one" | "parts" | "rolls";
  readonly ordered: "before" | "after";
  readonly steps: readonly string[];
  readonly joints: readonly JointTold[];
  readonly rolls: readonly RollTold[];
  readonly holes: readonly { readonly island: string; readonly area: number; readonly line: Line }[];
  readonly offcuts: readonly string[];
  /** Pipes through this liner. */
  readonly boots: readonly string[];
  readonly cut_from: Readonly<Record<string, string>>;
  readonly tapes: Readonly<Record<string, TapeTold>>;
  readonly several: { readonly pieces: number } | null;
  readonly fabrics: { readonly above: readonly string[] | null; readonly below: readonly string[] | null };
}

export interface LowTold {
  readonly place: string;
  readonly point: SitePoint;
  readonly lack: number;
  readonly over_water: number;
  readonly length: number;
}

export interface RimHead {
  readonly lows: readonly LowTold[];
  /** Shots on the edge as it was built, and how far each is out of tolerance: below 0 too low [m]. */
  readonly built: readonly { readonly place: string; readonly point: SitePoint; readonly off: number }[];
  readonly views: Readonly<Record<string, "seat" | "path">>;
  readonly anchors: readonly string[];
  /** Weight that holds for one that slides; null where nothing can slide. */
  readonly slopes: readonly { readonly zone: number; readonly place: string; readonly slope: number; readonly safety: number | null; readonly safety_toe: number | null }[];
  readonly steps: readonly string[];
}
