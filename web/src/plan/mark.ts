/** What the plan shares with its neighbours: the place pointed at, and where the ground is cut. */

import type { SitePoint } from "../geometry/types";
import { type Signal, signal } from "../state/signal";

export interface Pointed {
  readonly east: number;
  readonly north: number;
  /** Metres along the shore, when the place is on it. */
  readonly station?: number;
  readonly from: "plan" | "strip" | "section";
}

/** Place that the hand points at, so that plan, strip and section follow one another. */
export const pointed: Signal<Pointed | null> = signal<Pointed | null>(null);

/** Row of the kept section that is shown, or null when the line is kept nowhere. */
export const keptSection: Signal<string | null> = signal<string | null>(null);

/** Line along which the ground is cut. */
export const sectionLine: Signal<readonly SitePoint[] | null> = signal<readonly SitePoint[] | null>(null);
