/** Falls as they are seen from a seat: what they are called, how much of each is seen, and from what share on one counts. */

import type { Field } from "../api/frame";
import type { Job } from "../api/types";
import { percent } from "./built";
import { say } from "./say";
import { type Fall, fallsOf, streamsOf } from "./streams";

type Figures = Readonly<Record<string, number>>;

/** Name of a fall as the list of stone has it, or its number. */
export function fallName(job: Job, { body, at }: Pick<Fall, "body" | "at">): string {
  return toldName(job, body, at) ?? say("plan.box.fallNow", { number: at + 1, body: job.shape.bodies?.[body]?.name || body });
}

/** The same in as few words as a plan has room for. */
export function shortFallName(job: Job, { body, at }: Pick<Fall, "body" | "at">): string {
  return toldName(job, body, at)?.split(",")[0]?.trim() || say("plan.seat.fallNumber", { number: at + 1 });
}

function toldName(job: Job, body: string, at: number): string | null {
  const row = Object.values(job.stone?.falls ?? {}).find((one) => one.body === body && (one.step ?? 0) === at);
  return row?.name || null;
}

/** Where the share of a fall that is seen from a seat stands among the figures. */
export function sharePath(seat: string, { body, at }: Pick<Fall, "body" | "at">): string {
  return `shape.views.seats.${seat}.falls.${body}-${at + 1}.share`;
}

/** The fall of which most is seen from a seat. */
export function bestFall(job: Job, seat: string, figures: Figures): Fall | null {
  const share = (fall: Fall): number => figures[sharePath(seat, fall)] ?? 0;
  return streamsOf(job).flatMap(fallsOf).reduce<Fall | null>((best, fall) => (best === null || share(fall) > share(best) ? fall : best), null);
}

/** Share of a fall from which on it counts as seen, as the model says, or null while it has not said. */
export function countsFrom(views: Field | null): number | null {
  const at = views?.columns.indexOf("counts_from") ?? -1;
  return at < 0 ? null : (views?.data[at] ?? null);
}

/** Words over how many falls are in sight. */
export function fallsWords(views: Field | null): string {
  const from = countsFrom(views);
  return from === null ? say("plan.box.fallsNow") : say("plan.box.fallsFrom", { share: percent(from) });
}
