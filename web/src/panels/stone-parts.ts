/** What the room of the stone shares: names, places in words, shares that make one, tags that count on. Pure. */

import type { Share, Piece, StoneClass, Treatment, TreatmentPlace } from "../api/stone";
import type { DefaultInUse, Job } from "../api/types";
import { type Kind, NotRead, parse } from "../format/units";
import { tradeTexts } from "../format/trade";
import { say } from "../format/words";
import { OUTER } from "../plan/rings";
import type { StonePlaceTold } from "../plan/stone-fields";
import type { Session } from "../state/session";
import { zoneWords } from "./zone-words";
import { units } from "../state/settings";

export interface Stoned {
  readonly session: Session;
  readonly job: Job;
  readonly figures: Readonly<Record<string, number>>;
  readonly defaults: readonly DefaultInUse[];
}

export const KINDS = ["courses", "cobble", "gravel", "planted", "wall", "deck", "bare"] as const;
export const SHAPES = ["rounded", "blocky", "slab", "box"] as const;
export const ROLES = ["edge", "shelf", "spill", "frame", "wing", "stand", "seat", "any"] as const;
export const STANDS = ["on_hand", "yard", "ordered"] as const;
/** Kinds that have a thickness. */
const LAYERS: ReadonlySet<Treatment["kind"]> = new Set(["cobble", "gravel", "planted", "deck"]);

/** Whether a cover may be made of stone or gravel. */
export function isOfStone(kind: Treatment["kind"]): boolean {
  return kind !== "bare";
}

export function isLayer(kind: Treatment["kind"]): boolean {
  return LAYERS.has(kind);
}

// Names.

export function className(job: Job, id: string | null | undefined): string {
  return id ? job.stone?.classes?.[id]?.name || id : say("stone.noClass");
}

/** Classes to choose from, with words for none. */
export function classChoices(job: Job, none: string): readonly (readonly [string, string])[] {
  return [["", none], ...Object.keys(job.stone?.classes ?? {}).map((id): readonly [string, string] => [id, className(job, id)])];
}

export function rangeWords({ low, high }: Pick<StoneClass, "low" | "high">): string {
  return tradeTexts([low, high], "side of a stone", units.value, " – ");
}

export function bodyName(job: Job, id: string): string {
  return job.shape.bodies?.[id]?.name || id;
}

/** Tag of a stone, or its name, or its id. */
export function tagOf(id: string, { tag, name }: Pick<Piece, "tag" | "name">): string {
  return tag || name || id;
}

export function sizeWords({ length, width, height }: Pick<Piece, "length" | "width" | "height">): string {
  return tradeTexts([length, width, height], "side of a stone", units.value, " × ");
}

/** Names of the zones of a body's bank, as its bank type calls them; those without a name by what they are. */
export function zoneNames(job: Job, body: string): string[] {
  const type = job.shape.bank_types?.[job.shape.bodies?.[body]?.bank_type ?? ""];
  const names = type?.zone_names ?? [];
  const words = type ? zoneWords(type.points) : [];
  const count = Math.max(names.length, words.length, 1);
  return Array.from({ length: count }, (_, zone) => names[zone] || words[zone] || say("stone.zoneNumber", { number: zone + 1 }));
}

export function placeWords(job: Job, place: TreatmentPlace): string {
  if (place.at === "whole") return say("stone.at.whole", { body: place.body ? bodyName(job, place.body) : say("stone.body").toLowerCase() });
  const body = bodyName(job, place.body);
  if (place.at === "part") return say("stone.at.part", { body, zone: zoneNames(job, place.body)[place.zone] ?? say("stone.zoneNumber", { number: place.zone + 1 }) });
  const ring = place.ring && place.ring !== OUTER ? say("stone.ofIsland", { ring: place.ring }) : body;
  return say("stone.at.stretch", { body: ring, from: place.start, to: place.end });
}

export function treatmentName(job: Job, id: string): string {
  const row = job.stone?.treatments?.[id];
  return row === undefined ? id : row.name || `${say(`stone.kind.${row.kind}`)}, ${placeWords(job, row.place)}`;
}

/** A place that wants stones, as the job calls it: its cover and its class; otherwise in the server's words. */
export function stonePlaceName(job: Job, { says, source, stone }: StonePlaceTold): string {
  const cover = /^stone\.treatments\.(\w+)$/.exec(source)?.[1];
  if (cover === undefined || job.stone?.treatments?.[cover] === undefined) return says;
  const name = treatmentName(job, cover);
  return job.stone.classes?.[stone] ? say("stone.placeOf", { cover: name, class: className(job, stone) }) : name;
}

// Shares that make one.

const DIGITS = 1e6;

/** Shares with one of them set; the others keep their proportions and fill what is left. */
export function withShare(shares: readonly Share[], at: number, share: number): Share[] {
  const mine = Math.min(Math.max(share, 0.001), 1 - 0.001 * (shares.length - 1));
  if (shares.length === 1) return shares.map((one) => ({ ...one, share: 1 }));
  const others = shares.reduce((sum, one, index) => (index === at ? sum : sum + one.share), 0);
  return settled(shares.map((one, index) => ({ ...one, share: index === at ? mine : ((1 - mine) * one.share) / others })), at);
}

/** A class put in with an even share; nothing changes where it is there already. */
export function withClass(shares: readonly Share[], stone: string): Share[] {
  if (shares.some((one) => one.stone === stone)) return [...shares];
  const count = shares.length + 1;
  return settled([...shares.map((one) => ({ ...one, share: (one.share * (count - 1)) / count })), { stone, share: 1 / count }], count - 1);
}

/** A class taken out; the others fill its share. */
export function withoutClass(shares: readonly Share[], at: number): Share[] {
  const left = shares.filter((_, index) => index !== at);
  const total = left.reduce((sum, one) => sum + one.share, 0);
  return settled(left.map((one) => ({ ...one, share: one.share / total })), 0);
}

/** Round shares that still make one: one other than that in hand takes what rounding leaves. */
function settled(shares: readonly Share[], held: number): Share[] {
  const round = shares.map((one) => ({ ...one, share: Math.round(one.share * DIGITS) / DIGITS }));
  const spare = round.findIndex((_, index) => index !== held);
  const at = spare < 0 ? 0 : spare;
  const rest = 1 - round.reduce((sum, one) => sum + one.share, 0);
  return round.map((one, index) => (index === at ? { ...one, share: Math.round((one.share + rest) * DIGITS) / DIGITS } : one));
}

// Stones at the yard.

export type TapeUnit = "in" | "ft" | "cm" | "m";

/** Length of a tape; a bare number is in the unit of the tape. Throws NotRead with one sentence. */
export function tapeValue(text: string, unit: TapeUnit): number {
  const { value } = parse(text, "length" satisfies Kind, unit === "in" || unit === "ft" ? "us" : "metric", null, { unit });
  if (value <= 0) throw new NotRead(say("yard.tooSmall"));
  return value;
}

/** Three tapes as the sides of a stone, the longest first. */
export function sidesOf(tapes: readonly [number, number, number]): Pick<Piece, "length" | "width" | "height"> {
  const [height, width, length] = [...tapes].sort((one, other) => one - other) as [number, number, number];
  return { length, width, height };
}

/** Tag of the next stone: the number at its end counts on; without one nothing is guessed. */
export function nextTag(tag: string, taken: ReadonlySet<string>): string {
  const found = /^(.*?)(\d+)$/.exec(tag);
  if (!found) return "";
  const [, stem = "", digits = ""] = found;
  for (let number = Number(digits) + 1; ; number += 1) {
    const next = `${stem}${String(number).padStart(digits.length, "0")}`;
    if (!taken.has(next)) return next;
  }
}
