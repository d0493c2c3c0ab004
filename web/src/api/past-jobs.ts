/** My own past jobs, typed once, and what they say of the next one. */

import { ask } from "./rest";

/** What can be seen of a job from the driveway. */
export const TRAITS = ["rocky", "falls", "hard_access", "wet"] as const;

export type Trait = (typeof TRAITS)[number];
export type Traits = Readonly<Record<Trait, boolean>>;

export interface PastJob extends Traits {
  readonly id: string;
  readonly name: string;
  /** Water surface [m²]. */
  readonly area: number;
  readonly price: number;
  readonly currency: string;
  readonly year: number | null;
}

/** A price as a band, in the builder's own money. */
export interface Ballpark {
  readonly area: number;
  readonly currency: string;
  readonly low: number;
  readonly likely: number;
  readonly high: number;
  readonly count: number;
  /** In what the jobs that it is from are like this one. */
  readonly like: "all four" | "rock and falls" | "rock" | "any";
  /** Whether its width is a stated default, for want of jobs. */
  readonly stated: boolean;
  /** Whether none of those jobs was as large, or as small. */
  readonly beyond: boolean;
}

export const pastJobs = () => ask<readonly PastJob[]>("GET", "/past-jobs");
export const keepPastJob = ({ id, ...job }: PastJob) => ask<unknown>("PUT", `/past-jobs/${id}`, job);
export const removePastJob = (id: string) => ask<unknown>("DELETE", `/past-jobs/${id}`);

export function ballpark(job: string, area: number, traits: Traits): Promise<Ballpark> {
  const told = TRAITS.map((trait) => `&${trait}=${traits[trait]}`).join("");
  return ask<Ballpark>("GET", `/jobs/${job}/ballpark?area=${area}${told}`);
}
