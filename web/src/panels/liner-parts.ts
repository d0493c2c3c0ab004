/** What the page of the liner shares: the liners of the job with their figures, and how a size is told. Mostly pure. */

import type { Item, Liner } from "../api/lining";
import type { Finding, Job } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import type { Session } from "../state/session";
import { type Op, pointer } from "../state/ops";
import { setOps } from "../state/changes";
import type { Json } from "../state/ops";
import type { Template } from "./view";
import { checksOf } from "./water-parts";

export interface Lined {
  readonly session: Session;
  readonly job: Job;
  readonly figures: Readonly<Record<string, number>>;
}

export interface LinerOf {
  readonly id: string;
  readonly row: Liner;
  /** Whether the job says nothing of it: it stands with what is usual. */
  readonly assumed: boolean;
}

/** Liners of a job: those that are told, and one of its own for each body that none of them names. */
export function linersOf(job: Job): LinerOf[] {
  const bodies = job.shape.bodies ?? {};
  const told = Object.entries(job.lining?.liners ?? {}).filter(([, row]) => row.bodies.some((body) => body in bodies));
  const named = new Set(told.flatMap(([, row]) => row.bodies));
  const taken = new Set(told.map(([id]) => id));
  const own = Object.keys(bodies).filter((body) => !named.has(body));
  // Ponds first, because the job is about them.
  const ponds = ({ row }: LinerOf): number => Number(row.bodies.some((body) => (bodies[body]?.role ?? "pond") === "pond"));
  return [
    ...told.map(([id, row]): LinerOf => ({ id, row, assumed: false })),
    ...own.map((body): LinerOf => ({ id: taken.has(body) ? `${body}_own` : body, row: { bodies: [body] }, assumed: true })),
  ].sort((one, other) => ponds(other) - ponds(one));
}

/** Name of a liner as people call it. */
export function linerName(job: Job, { id, row }: Pick<LinerOf, "id" | "row">): string {
  return row.name || row.bodies.map((body) => job.shape.bodies?.[body]?.name || body).join(" + ") || id;
}

/** Set one field of a liner; the first one writes the liner that was only assumed. */
export function linerOps(job: Job, { id, row, assumed }: LinerOf, field: string, value: Json): Op[] {
  if (!assumed) return setOps(job, ["lining", "liners", id, field], value);
  if (value === null) return [];
  return [{ op: "add", path: pointer("lining", "liners", id), value: { ...row, [field]: value } as unknown as Json }];
}

/** Items of the catalogue of some kinds, to choose from; nothing said comes first. */
export function itemsOf(job: Job, kinds: readonly string[], now: string | null | undefined): (readonly [string, string])[] {
  const items = Object.entries((job.catalogue ?? {}) as Readonly<Record<string, Item>>).filter(([id, { kind }]) => kinds.includes(kind) || id === now);
  return [["", say("liner.notSaid")], ...items.map(([id, item]): readonly [string, string] => [id, item.name || id])];
}

/** Parts of the page, each with the checks that are about it. */
const PARTS = {
  size: /^lining\.(covers|waste|stock|membrane|seam|fall_lap|folds|proved|several|roll_end)/,
  tapes: /^lining\.(tape|untaped|dig_)/,
  day: /^lining\.(pull|wind|people|carry|cold)/,
  cushion: /^lining\.(cushion|puncture|protrusion|subgrade_stone)/,
  edge: /^lining\.(edge|band|capillary|anchor|upturn|reach|trench|cover_slides|covered_slope)/,
  pipes: /^lining\.penetration/,
  guards: /^lining\.(guard|root|burrow|setback)/,
  test: /^lining\.(bare_test|evaporation|leak|reading)/,
} as const;
export type PartOfPage = keyof typeof PARTS;

/** Whether a check is about a part of the page, and about a liner or about none in particular; `rest` is what no part has. */
export function isAbout({ code, where }: Pick<Finding, "code" | "where">, { id, row }: LinerOf, part: PartOfPage | "rest", figures: Lined["figures"] = {}): boolean {
  if (!code.startsWith("lining.")) return false;
  const fits = part === "rest" ? Object.values(PARTS).every((codes) => !codes.test(code)) : PARTS[part].test(code);
  const liners = where.paths.flatMap((path) => /^lining\.(?:\w+\.)?liners\.([^.]+)/.exec(path)?.[1] ?? []);
  const bodies = where.paths.flatMap((path) => /^(?:lining\.\w+|shape)\.bodies\.([^.]+)/.exec(path)?.[1] ?? []);
  // What is taped or goes through belongs to the liner in whose order it stands.
  const owned = where.paths.flatMap((path) => /^lining\.(tapes|penetrations)\.([^.]+)/.exec(path)?.slice(1, 3).join(".") ?? []);
  const mine = owned.every((key) => `lining.order.liners.${id}.${key.replace("penetrations", "boots")}.${key.startsWith("tapes") ? "predicted" : "diameter"}` in figures);
  return fits && (Object.keys(figures).length === 0 || mine) && (liners.length === 0 || liners.includes(id)) && (bodies.length === 0 || bodies.some((body) => row.bodies.includes(body)));
}

/** Checks of a part that are not good. */
export function partChecks(session: Session, liner: LinerOf, part: PartOfPage | "rest"): Template {
  return checksOf(session, (finding) => finding.grade !== "good" && isAbout(finding, liner, part, session.figures.value));
}

/** Length by width of a piece, or nothing while it is not known. */
export function sizeWords(figures: Readonly<Record<string, number>>, stem: string): string {
  const [length, width] = [figures[`${stem}.length`], figures[`${stem}.width`]];
  return length === undefined || width === undefined ? "" : say("liner.byPiece", { length: shown(length, "length"), width: shown(width, "length") });
}

/** Whether a piece as ordered is no smaller than the proved one, either way round. */
export function reaches(figures: Readonly<Record<string, number>>, ordered: string, proved: string): boolean {
  const sides = (stem: string): [long: number, short: number] => {
    const [one, other] = [figures[`${stem}.length`] ?? 0, figures[`${stem}.width`] ?? 0];
    return [Math.max(one, other), Math.min(one, other)];
  };
  const [has, needs] = [sides(ordered), sides(proved)];
  return has[0] >= needs[0] && has[1] >= needs[1];
}

/** What tapes over the ground tell: one piece, or strips. */
export function tapedWords(figures: Readonly<Record<string, number>>, { id, row }: LinerOf): string {
  const stem = `lining.arcs.liners.${id}`;
  const count = figures[`${stem}.count`];
  const inRolls = row.one_piece === false && (row.stock ?? []).length > 0;
  if (!inRolls || count === undefined) return sizeWords(figures, stem);
  if (count === 1) return say("liner.byRoll", { length: shown(figures[`${stem}.length`], "length"), width: shown(figures[`${stem}.width`], "length") });
  return say("liner.byRolls", { count, width: shown(figures[`${stem}.width`], "length"), area: shown(figures[`${stem}.ordered_area`], "area") });
}
