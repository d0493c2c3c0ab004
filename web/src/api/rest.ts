/** Plain requests to the server; a refusal comes back as one sentence. */

import { said, say } from "../format/words";
import type {
  DefaultInUse,
  Explanation,
  FigureInfo,
  Job,
  JobCard,
  ReadAs,
  Results,
  Revision,
  Sheet,
  ShotsPreview,
  ShownUnits,
  Version,
  WalkPoint,
  WishOffer,
} from "./types";

export class Refusal extends Error {}

/** Ask the server; throws a Refusal that says, in one sentence, why it did not do it. */
export async function ask<T>(method: string, path: string, body?: unknown): Promise<T> {
  const raw = body instanceof Blob;
  const request: RequestInit = { method };
  if (body !== undefined) {
    request.body = raw ? body : JSON.stringify(body);
    request.headers = { "Content-Type": raw ? body.type || "application/octet-stream" : "application/json" };
  }
  let response: Response;
  try {
    response = await fetch(`api${path}`, request);
  } catch {
    throw new Refusal(say("app.noServer"));
  }
  const answer = (await response.json().catch(() => ({}))) as T & { says?: string };
  if (!response.ok) throw new Refusal(answer.says ? said(answer.says) : say("app.refused", { status: response.status }));
  return answer;
}

/** The sentence of a failure, for people. */
export function sentenceOf(fault: unknown): string {
  return fault instanceof Error ? fault.message : String(fault);
}

type Made = { readonly id: string };

// The list of jobs.
export const jobs = (archived: boolean) => ask<JobCard[]>("GET", `/jobs?archived=${archived}`);
export const newJob = (name: string, shown_units: ShownUnits) => ask<Made>("POST", "/jobs", { name, shown_units });
export const importJob = (file: Blob) => ask<Made>("POST", "/jobs/import", new Blob([file], { type: "application/json" }));
export const duplicateJob = (id: string) => ask<Made>("POST", `/jobs/${id}/duplicate`);
export const jobCard = (id: string) => ask<JobCard>("GET", `/jobs/${id}`);
export const changeCard = (id: string, change: { state?: string; archived?: boolean }) => ask<unknown>("PATCH", `/jobs/${id}`, change);
export const examples = () => ask<{ name: string; says?: string; title?: string }[]>("GET", "/examples");
export const copyExample = (name: string) => ask<Made>("POST", `/examples/${encodeURIComponent(name)}/copy`);
export const fileAddress = (id: string): string => `api/jobs/${id}/file`;
export const pictureAddress = (id: string, rev: number): string => `api/jobs/${id}/picture.svg?rev=${rev}`;

// One job.
export const figureCatalogue = () => ask<FigureInfo[]>("GET", "/figures");
export const documentAt = (id: string, rev: number) => ask<{ rev: number; job: Job }>("GET", `/jobs/${id}/document?rev=${rev}`);
export const results = (id: string) => ask<Results>("GET", `/jobs/${id}/results`);
export const defaultsInUse = async (id: string): Promise<readonly DefaultInUse[]> => (await results(id)).defaults;
export const explain = (id: string, path: string, since = "") =>
  ask<Explanation>("GET", `/jobs/${id}/explain?path=${encodeURIComponent(path)}&since=${encodeURIComponent(since)}`);
export const history = (id: string) => ask<Revision[]>("GET", `/jobs/${id}/history`);
export const restore = (id: string, rev: number, author: string) => ask<{ rev: number }>("POST", `/jobs/${id}/restore`, { rev, author });
export const versions = (id: string) => ask<Version[]>("GET", `/jobs/${id}/versions`);
export const keepVersion = (id: string, name: string, signed_by: string) => ask<unknown>("POST", `/jobs/${id}/versions`, { name, signed_by });
export const previewShots = (text: string, shown_units: ShownUnits, job: string, as: ReadAs) =>
  ask<ShotsPreview>("POST", "/preview/shots", { text, shown_units, job, ...as });

// The first visit.
export const walkPoints = () => ask<readonly WalkPoint[]>("GET", "/walk");
export const wishOffers = () => ask<readonly WishOffer[]>("GET", "/wishes");

// Papers.
export const papers = (id: string) => ask<Sheet[]>("GET", `/jobs/${id}/papers`);
export const paperAddress = (id: string, name: string, form: "svg" | "pdf", rev: number): string =>
  `api/jobs/${id}/papers/${encodeURIComponent(name)}.${form}?rev=${rev}`;
