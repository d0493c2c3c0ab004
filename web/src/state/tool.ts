/** What the hand does on the plan.  The shell's buttons set it; the plan follows it and sets it back. */

import { type Signal, signal } from "./signal";

export const TOOLS = [
  "select", "shoreline", "island", "stream", "fall", "bank", "mound", "way", "seat", "section", "measure", "shot", "thing", "breakline", "boundary", "photo", "pile",
] as const;

/** `place` is in no row of tools: a box beside the plan asks for it. */
export type Tool = (typeof TOOLS)[number] | "place";

export const tool: Signal<Tool> = signal<Tool>("select");
