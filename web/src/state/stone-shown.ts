/** What of the stone the plan shows: the room of the stone and the chooser of layers share it. */

import { type Signal, signal } from "./signal";

/** What covers the bank, hatched, and the courses stone by stone. */
export const coverShown: Signal<boolean> = signal(false);
/** Single stones, piles of stone, machines with their reach. */
export const stonesShown: Signal<boolean> = signal(true);
