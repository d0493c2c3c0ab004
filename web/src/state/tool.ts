/** What the hand does on the plan.  The shell's buttons set it; the plan follows it and sets it back. */

import { type Signal, signal } from "./signal";

export const TOOLS = [
  "select", "shoreline", "island", "bank", "section", "measure", "shot", "thing", "breakline", "boundary", "photo",
] as const;

export type Tool = (typeof TOOLS)[number];

export const tool: Signal<Tool> = signal<Tool>("select");
