/** Somebody beside the plan asks for a place on it: pressed, dragged or typed, with or without a direction. */

import type { SitePoint } from "../geometry/types";
import { type Signal, signal } from "./signal";
import { tool } from "./tool";

export interface Picked {
  readonly place: SitePoint;
  /** Clockwise from grid north [rad]; null when nobody told. */
  readonly bearing: number | null;
}

export interface Pick {
  /** What the place is for, in a few words. */
  readonly title: string;
  /** Whether a direction is asked for too. */
  readonly looks: boolean;
  readonly before: Picked | null;
  take(picked: Picked): void;
}

/** What is asked for just now; null when nothing is. */
export const pick: Signal<Pick | null> = signal<Pick | null>(null);

/** Ask for a place: the hand takes the tool for it, and puts it down when it is done. */
export function pickPlace(wanted: Pick): void {
  pick.value = wanted;
  tool.value = "place";
}
