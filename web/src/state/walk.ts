/** The list to walk round a site with, and how far one has come with it. */

import { walkPoints } from "../api/rest";
import type { Job, WalkAnswer, WalkPoint } from "../api/types";
import { type Signal, signal } from "./signal";

/** Points of the list in walking order: told once by the server, then kept. */
export const walkList: Signal<readonly WalkPoint[]> = signal<readonly WalkPoint[]>([]);

/** Why the list did not come, in one sentence. */
export const walkFault: Signal<string> = signal("");

/** Fetch the list, unless it is there. */
export async function fetchWalk(): Promise<void> {
  if (walkList.value.length > 0) return;
  try {
    walkList.value = await walkPoints();
    walkFault.value = "";
  } catch (fault) {
    walkFault.value = (fault as Error).message;
  }
}

export type Asked = WalkPoint & { readonly own: boolean; readonly answer: WalkAnswer | undefined };

/** Every point with its answer: those of the list, then the builder's own. */
export function asked(job: Job, list: readonly WalkPoint[], ownGroup: string): readonly Asked[] {
  const answers = job.site.walk ?? {};
  const known = new Set(list.map((point) => point.id));
  const own = Object.entries(answers).filter(([id]) => !known.has(id));
  return [
    ...list.map((point) => ({ ...point, own: false, answer: answers[point.id] })),
    ...own.map(([id, answer]) => ({ id, group: ownGroup, ask: answer.ask || id, own: true, answer })),
  ];
}

/** Points by group, in order. */
export function grouped(points: readonly Asked[]): readonly (readonly [group: string, points: readonly Asked[]])[] {
  const groups = [...new Set(points.map((point) => point.group))];
  return groups.map((group) => [group, points.filter((point) => point.group === group)] as const);
}

export interface Progress {
  readonly looked: number;
  readonly of: number;
  readonly trouble: number;
}

/** How many points were looked at, and at how many of them there is trouble. */
export function progressOf(points: readonly Asked[]): Progress {
  const answers = points.map(({ answer }) => answer?.answer ?? "not_looked");
  return {
    looked: answers.filter((answer) => answer !== "not_looked").length,
    of: points.length,
    trouble: answers.filter((answer) => answer === "trouble").length,
  };
}
