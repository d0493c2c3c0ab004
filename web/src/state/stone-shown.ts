/** What of the stone the plan shows: the room of the stone, which turns it on while it is open, and the chooser of layers share it. */

import { type Signal, signal } from "./signal";

/** What covers the bank, hatched, and the courses stone by stone. */
export const coverShown: Signal<boolean> = signal(false);
/** Single stones, piles of stone, machines with their reach. */
export const stonesShown: Signal<boolean> = signal(false);
