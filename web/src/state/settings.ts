/** What a person set for this browser: units, look, heights, name. Kept in local storage; never in the job. */

import type { ShownUnits } from "../api/types";
import { type Signal, effect, signal } from "./signal";

export type Look = "day" | "night" | "sun";
export type Heights = "elevation" | "water";

export const UNITS: readonly ShownUnits[] = ["us", "us_inch", "metric"];

/** Units that numbers are shown in; a job brings its own when it is opened. */
export const units: Signal<ShownUnits> = kept<ShownUnits>("units", "us", UNITS);

/** How the page looks: in the office, at night, or in the sun. */
export const look: Signal<Look> = kept<Look>("look", "day", ["day", "night", "sun"]);

/** Heights as elevations, or as plus and minus from the water line. */
export const heights: Signal<Heights> = kept<Heights>("heights", "elevation", ["elevation", "water"]);

/** Name that stands beside this person's edits. */
export const author: Signal<string> = kept<string>("author", "", null);

/** Whether the shore unrolled is open below the plan. */
export const stripOpen: Signal<"open" | "closed"> = kept<"open" | "closed">("strip", "open", ["open", "closed"]);

/** Whether what lies below the plan has most of the page's height. */
export const belowTall: Signal<"yes" | "no"> = kept<"yes" | "no">("below.tall", "no", ["yes", "no"]);

function kept<T extends string>(key: string, first: T, allowed: readonly T[] | null): Signal<T> {
  const name = `pondwright.${key}`;
  const found = localStorage.getItem(name) as T | null;
  const held = signal<T>(found !== null && (allowed === null || allowed.includes(found)) ? found : first);
  effect(() => localStorage.setItem(name, held.value));
  return held;
}
