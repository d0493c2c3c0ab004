/** What the hand does on the plan.  The shell's buttons set it; the plan follows it and sets it back. */

import { type Signal, signal } from "./signal";

export const TOOLS = [
  "select", "shoreline", "island", "stream", "fall", "bank", "mound", "way", "seat", "section", "measure", "shot", "thing", "breakline", "boundary", "photo", "pile", "drain",
] as const;

/** These are in no row of tools: a page or a box beside the plan asks for them. */
const ASKED_FOR = ["place", "reading", "outlet", "sump", "tape", "guard", "penetration", "patch", "treatment"] as const;
export type Tool = (typeof TOOLS)[number] | (typeof ASKED_FOR)[number];

/** Whether a tool stands in the row of tools. */
export function isInRow(name: Tool): name is (typeof TOOLS)[number] {
  return (TOOLS as readonly Tool[]).includes(name);
}

export const tool: Signal<Tool> = signal<Tool>("select");
