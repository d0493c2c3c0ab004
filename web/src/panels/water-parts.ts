/** What the page of the groundwater shares: the job with its figures, and whether a liner holds. Mostly pure. */

import type { Finding, Job } from "../api/types";
import type { Reading, Season } from "../api/water";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { openNext } from "../state/desk";
import { numbered } from "../state/checks";
import type { Session } from "../state/session";
import { POND_STAGES, type PondStage } from "../state/water-shown";
import { checkButton } from "./checks";
import type { Template } from "./view";
import { html, nothing } from "lit";

export interface Watered {
  readonly session: Session;
  readonly job: Job;
  readonly figures: Readonly<Record<string, number>>;
}

export const SEASONS: readonly Season[] = ["wet", "dry"];
export const DRAINS = ["working", "stopped", "none"] as const;
export type DrainsAre = (typeof DRAINS)[number];
export type Verdict = "holds" | "little" | "lifts";

/** Limits of the checks where the job has none of its own: weight for one of push in use, and emptied. */
const WANTED = { "groundwater.uplift_in_use": 1.3, "groundwater.uplift_emptied": 1.2 } as const;

/** Weight for one of push that a stage of a pond wants in hand. */
export function wanted(job: Pick<Job, "rules">, stage: PondStage): number {
  const code = stage === "full" ? "groundwater.uplift_in_use" : "groundwater.uplift_emptied";
  return job.rules?.[code]?.limit ?? WANTED[code];
}

export interface StageRow {
  readonly stage: PondStage;
  /** Weight for one of push: at least, likely, at most; null where nothing pushes. */
  readonly low: number | null;
  readonly likely: number | null;
  readonly high: number | null;
  readonly verdict: Verdict;
}

/** Whether a liner holds: not lifted on any side of what the readings allow, and with as much in hand as is wanted. */
export function verdictOf(low: number | null, likely: number | null, atLeast: number): Verdict {
  if (likely !== null && likely < 1) return "lifts";
  return (likely !== null && likely < atLeast) || (low !== null && low < 1) ? "little" : "holds";
}

/** Stages of a body in a case; none while nothing is known of it. */
export function stageRows(job: Job, figures: Readonly<Record<string, number>>, body: string, season: Season, drains: DrainsAre): StageRow[] {
  return stagesOf(job, body).flatMap((stage): StageRow[] => {
    const stem = `groundwater.range.bodies.${body}.cases.${season}_${drains}.stages.${stage}`;
    if (figures[`${stem}.excess_likely`] === undefined) return [];
    const [low, likely, high] = (["low", "likely", "high"] as const).map((level) => figures[`${stem}.net_${level}`] ?? null) as [number | null, number | null, number | null];
    return [{ stage, low, likely, high, verdict: verdictOf(low, likely, wanted(job, stage)) }];
  });
}

/** Bodies of which the range is known: ponds first, because the job is about them. */
export function knownBodies(job: Job, figures: Readonly<Record<string, number>>): string[] {
  const known = new Set(Object.keys(figures).flatMap((path) => /^groundwater\.range\.bodies\.([^.]+)\./.exec(path)?.[1] ?? []));
  const isPond = (body: string): number => Number((job.shape.bodies?.[body]?.role ?? "pond") === "pond");
  return Object.keys(job.shape.bodies ?? {})
    .filter((body) => known.has(body))
    .sort((one, other) => isPond(other) - isPond(one));
}

/** Whether a body is a stream: it runs dry whenever its pump stops, so nobody pumps it down. */
export function isStream(job: Job, body: string): boolean {
  return job.shape.bodies?.[body]?.outline.form === "corridor";
}

/** Stages of a body that anybody asks for. */
export function stagesOf(job: Job, body: string): readonly PondStage[] {
  return isStream(job, body) ? ["full", "service"] : POND_STAGES;
}

export interface Miss {
  readonly season: Season;
  /** Model minus what was read [m]. */
  readonly by: number;
}

/** How far the model misses a reading, season by season. */
export function missesOf(figures: Readonly<Record<string, number>>, id: string): Miss[] {
  return SEASONS.flatMap((season): Miss[] => {
    const by = figures[`groundwater.aquifer.seasons.${season}.readings.${id}.residual`];
    return by === undefined ? [] : [{ season, by }];
  });
}

const MEETS = 0.005; // metres: closer than this a reading is met

export function missWords({ season, by }: Miss): string {
  const values = { season: say(`groundwater.season.${season}`), value: shown(Math.abs(by), "length") };
  if (Math.abs(by) < MEETS) return say("groundwater.missNone", values);
  return say(by > 0 ? "groundwater.missHigh" : "groundwater.missLow", values);
}

/** Levels of a reading in a few words. */
export function levelWords(row: Reading, waterLine: number | null): string {
  return SEASONS.filter((season) => typeof row[season] === "number")
    .map((season) => `${say(`groundwater.season.${season}`)} ${shown(row[season], "elevation", waterLine)}`)
    .join(", ");
}

/** Where the groundwater stands against the pond's water, in words. */
export function excessWords(excess: number): string {
  return say(excess >= 0 ? "groundwater.above" : "groundwater.below", { value: shown(Math.abs(excess), "length") });
}

/** Checks of some codes that are not good, each opening on its own. */
export function checksOf(session: Session, wants: (finding: Finding) => boolean): Template {
  const some = numbered(session.checks.value).filter(({ finding }) => wants(finding));
  if (some.length === 0) return nothing;
  return html`<ol class="all-checks">
    ${some.map((one) => html`<li>${checkButton(one, () => openNext({ kind: "check", key: one.key }))}</li>`)}
  </ol>`;
}
