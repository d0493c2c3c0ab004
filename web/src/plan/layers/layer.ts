/** A layer only draws: it reads signals and shows them. */

import type BaseLayer from "ol/layer/Base";
import type { Job } from "../../api/types";
import type { Session } from "../../state/session";
import type { Fields } from "../fields";
import type { WordsOfPlan } from "../labels";
import type { Shown } from "../shown-layers";
import type { Sketch } from "../gestures/gesture";
import type { ReadonlySignal } from "../../state/signal";
import type { SitePoint } from "../../geometry/types";

export interface Desk {
  readonly session: Session;
  readonly fields: Fields;
  readonly shown: Shown;
  readonly sketch: ReadonlySignal<Sketch | null>;
  readonly mark: ReadonlySignal<SitePoint | null>;
  /** Where the words of the plan have room. */
  readonly words: ReadonlySignal<WordsOfPlan>;
}

export interface PlanLayer {
  readonly layer: BaseLayer;
  stop(): void;
}

/** The job as it is shown: with the drag in it. */
export function jobOf({ session }: Desk): Job | null {
  return session.shown.value;
}
