/** Survey that new shots belong to, for example those of the emptied hole; none while there is only one. */

import type { Job } from "../api/types";
import { type Signal, signal } from "./signal";

export const surveyInHand: Signal<string> = signal("");

/** What a new shot says of its survey: nothing while none is in hand, or the one in hand is gone. */
export function ofSurvey(job: Job): { readonly survey?: string } {
  return surveyInHand.value in (job.site.surveys ?? {}) ? { survey: surveyInHand.value } : {};
}
