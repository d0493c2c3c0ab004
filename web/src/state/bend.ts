/** A shore that was offered and is looked at on the plan; the job does not have it yet. */

import type { SitePoint } from "../geometry/types";
import { type Signal, signal } from "./signal";

export interface BendShown {
  readonly body: string;
  readonly variant: string;
  readonly ring: readonly SitePoint[];
}

export const bendShown: Signal<BendShown | null> = signal<BendShown | null>(null);
