/** Checks in the order in which they matter, and the numbers of their flags. */

import type { Finding, Grade } from "../api/types";
import type { Leaf } from "./desk";

export const ON_SHOW = 5;

export interface Numbered {
  /** Number of its flag on the plan and in the list; 0 for what is good or accepted. */
  readonly number: number;
  /** The same check in the next frame has the same key. */
  readonly key: string;
  readonly finding: Finding;
}

const ORDER: Readonly<Record<Grade, number>> = { stop: 0, look: 1, good: 2 };

/** All checks, the worst first: open stops, open looks, accepted ones, good ones. */
export function numbered(checks: readonly Finding[]): readonly Numbered[] {
  const seen = new Map<string, number>();
  const sorted = [...checks].sort((one, other) => rank(one) - rank(other) || excess(other) - excess(one));
  return sorted.map((finding, at) => {
    const name = `${finding.code} ${finding.where.paths[0] ?? ""}`;
    const times = seen.get(name) ?? 0;
    seen.set(name, times + 1);
    return { number: isOpen(finding) ? at + 1 : 0, key: `${name} ${times}`, finding };
  });
}

/** Whether a check wants somebody's attention. */
export function isOpen(finding: Finding): boolean {
  return finding.grade !== "good" && !finding.accepted;
}

const ROOM_OF: Partial<Readonly<Record<Leaf["kind"], string>>> = {
  site: "site", "site-page": "site", shots: "site", photo: "site",
  shape: "shape", bends: "shape",
  earth: "earth",
  groundwater: "groundwater",
  liner: "lining",
  stone: "stone", yard: "stone",
};

/**
 * Open checks that the plan flags: every stop, and the first looks of the room that is open, or of the whole job where
 * none is; all of them while their list is open, and always the one in hand.
 */
export function flagged(checks: readonly Finding[], open: readonly Leaf[]): readonly Numbered[] {
  const wanting = numbered(checks).filter(({ number }) => number > 0);
  if (open.some(({ kind }) => kind === "checks")) return wanting;
  const room = open.map(({ kind }) => ROOM_OF[kind]).find((name) => name !== undefined);
  const inHand = new Set(open.map((leaf) => (leaf.kind === "check" ? leaf.key : "")));
  const looks = wanting.filter(({ finding }) => finding.grade === "look" && (room === undefined || finding.code.startsWith(`${room}.`)));
  const shown = new Set(looks.slice(0, ON_SHOW));
  return wanting.filter((one) => one.finding.grade === "stop" || shown.has(one) || inHand.has(one.key));
}

function rank(finding: Finding): number {
  if (finding.grade === "good") return 4;
  return ORDER[finding.grade] + (finding.accepted ? 2 : 0);
}

/** How far a value is from its limit, in parts of the limit. */
function excess({ value, limit, grade }: Finding): number {
  if (grade === "good" || value === null || limit === null) return 0;
  return Math.abs(value - limit) / Math.max(Math.abs(limit), 1e-3);
}
