/** What of the groundwater the plan shows: the page of the groundwater and the chooser of layers share it. */

import { type Signal, signal } from "./signal";

/** Full; half of the water left; pumped down to the floor; its stone drained as well. */
export const POND_STAGES = ["full", "half", "empty", "service"] as const;
export type PondStage = (typeof POND_STAGES)[number];

/** Stage of the ponds for which the plan shows whether the liners hold. */
export const upliftStage: Signal<PondStage> = signal<PondStage>("full");

/** Lines of equal groundwater, and arrows where it goes. */
export const headsShown: Signal<boolean> = signal(false);
export const flowShown: Signal<boolean> = signal(false);
/** The routes that were found for drains. */
export const routeShown: Signal<boolean> = signal(false);

/** Drain whose profile is shown below the plan; null is the first. */
export const drainInHand: Signal<string | null> = signal<string | null>(null);

/** Whether somebody has just asked for that profile; the page below the plan takes it back. */
export const profileAsked: Signal<boolean> = signal(false);

export function showProfile(drain: string): void {
  drainInHand.value = drain;
  profileAsked.value = true;
}
