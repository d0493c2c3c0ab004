/** The photos of the open job, as its log holds them. */

import { ask } from "../api/rest";
import type { PhotoEntry } from "../api/types";
import { type Signal, signal } from "./signal";

/** Photos of the open job, oldest first. */
export const photos: Signal<readonly PhotoEntry[]> = signal<readonly PhotoEntry[]>([]);

/** The photo that is looked at: its mark on the plan stands out. */
export const photoInHand: Signal<string | null> = signal<string | null>(null);

let newest = 0;
let openJob = "";

/** Fetch the photos of a job; what comes late for another job is dropped. */
export async function fetchPhotos(job: string): Promise<void> {
  newest += 1;
  openJob = job;
  const mine = newest;
  const found = await ask<{ readonly photos: readonly PhotoEntry[] }>("GET", `/jobs/${job}/photos`);
  if (mine === newest) photos.value = byTime(found.photos);
}

/** Put a photo into the log of a job, which may have been left meanwhile. */
export async function logPhoto(job: string, entry: PhotoEntry): Promise<void> {
  await ask("POST", `/jobs/${job}/log`, entry);
  if (job === openJob) await fetchPhotos(job);
}

/** No job is open any more. */
export function forgetPhotos(): void {
  newest += 1;
  openJob = "";
  photos.value = [];
  photoInHand.value = null;
}

/** A name for an entry that no other window gives. */
export function entryId(): string {
  const random = [...crypto.getRandomValues(new Uint8Array(6))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return `photo-${random}`;
}

/** Photos in the order in which they were taken. */
export function byTime(some: readonly PhotoEntry[]): readonly PhotoEntry[] {
  return [...some].sort((one, other) => Date.parse(one.time) - Date.parse(other.time));
}

/** Photos from the same spot as one, itself among them: what repeats what, oldest first. */
export function sameSpot(all: readonly PhotoEntry[], id: string): readonly PhotoEntry[] {
  const first = (entry: PhotoEntry | undefined, seen: ReadonlySet<string> = new Set()): string | undefined => {
    if (!entry?.repeats || seen.has(entry.id)) return entry?.id;
    return first(all.find((one) => one.id === entry.repeats), new Set([...seen, entry.id])) ?? entry.id;
  };
  const root = first(all.find((one) => one.id === id));
  return root === undefined ? [] : byTime(all.filter((one) => first(one) === root));
}
