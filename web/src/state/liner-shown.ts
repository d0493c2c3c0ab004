/** What of the liner the plan shows: the page of the liner and the chooser of layers share it. */

import { type Signal, signal } from "./signal";

/** The liner's end on the plan, its pieces and seams. */
export const linerShown: Signal<boolean> = signal(false);
/** Low places of its edge, and where liner would be seen. */
export const edgeShown: Signal<boolean> = signal(false);
/** Pipes through it, patches, guards, lines to tape; what is not shown is not pressed either. */
export const linedShown: Signal<boolean> = signal(false);
