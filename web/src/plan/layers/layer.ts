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

/** The job as it is shown; while the hand moves what is in other sections than this one, as it was when the hand took hold. */
export function jobOfSection({ session }: Desk, section: keyof Job): () => Job | null {
  let kept: Job | null = null;
  return () => {
    const job = session.shown.value;
    if (session.preview.value === null || job?.[section] !== kept?.[section]) kept = job;
    return kept;
  };
}
