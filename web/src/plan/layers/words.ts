/** All words and marks of the plan, in the order in which they get their room: what is looked for first comes first. */

import type { Options as TextOptions } from "ol/style/Text";
import type { Job } from "../../api/types";
import { shown as shownValue } from "../../format/shown";
import type { SitePoint } from "../../geometry/types";
import { units } from "../../state/settings";
import { leaves } from "../../state/desk";
import { type ReadonlySignal, effect, signal } from "../../state/signal";
import { builtOf, linedOf, nameOf, wateredOf } from "../built";
import { DOT_BOX, FLAG_BOX, LINE, MARK_BOX, PEG_BOX, RING_BOX, SMALL_BOX, type Side, type Taken, type Words, type WordsOfPlan, middleAlong, onBox, straightest, underBox, wordsOfPlan } from "../labels";
import { drawnPlace } from "../places";
import { OUTER, pegPoint, ringOf, ringsOf, stretchPoints } from "../rings";
import { say } from "../say";
import { middleOfPlace, soilPlaces } from "../soil-places";
import { type StonePlace, stonePlaces } from "../stones";
import { fallsOf, streamsOf } from "../streams";
import { shortFallName } from "../seen-falls";
import { flagsOf } from "./flags";
import { NAMES_FROM as PEG_NAMES_FROM, PEGS_FROM } from "./shore";
import type { Desk } from "./layer";
import { nextShots } from "./next";
import { wheelPlaces } from "./wheels";

export const BUILT_FROM = 0.16; // metres for a pixel
export const THINGS_FROM = 0.3;
export const SOIL_FROM = 0.35;
export const SEAT_GAP = 15; // pixels from the middle of a mark to its words
export const SOIL_GAP = 15;
export const WATER_GAP = 15;
export const STONE_GAP = 16;
export const STONE_FROM = 0.2;
export const WATER_FROM = 0.2;
export const THING_GAP = 10;
export const FALL_GAP = 12;
export const BANK_GAP = 9;
const ALONG = ["on"] as const;

/** How the map library sets words on a side of their place; it writes several lines round their middle. */
export function setAt(side: Side, gap: number, turn = 0, lines = 1): Pick<TextOptions, "textAlign" | "offsetX" | "offsetY" | "rotation" | "rotateWithView"> {
  if (side === "right" || side === "left") return { textAlign: side === "right" ? "left" : "right", offsetX: side === "right" ? gap : -gap };
  if (side === "on") return { rotation: -turn, rotateWithView: true };
  const middle = gap + (lines * LINE) / 2;
  return { offsetY: side === "below" ? middle : -middle };
}

type Sources = Omit<Desk, "words">;

/** The words as they stand when nothing is in the hand: they do not dance in a drag. */
export function followWords(desk: Sources): { readonly words: ReadonlySignal<WordsOfPlan>; readonly stop: () => void } {
  const words = signal<WordsOfPlan>(wordsOfPlan([], []));
  let known = "";
  const stop = effect(() => {
    if (desk.session.preview.value !== null) return;
    const job = desk.session.job.value;
    void units.value;
    const [all, marks] = job ? [wordsOn(desk, job), marksOn(desk, job)] : [[], []];
    const next = JSON.stringify([all, marks]);
    if (next === known) return;
    known = next;
    words.value = wordsOfPlan(all, marks);
  });
  return { words, stop };
}

/** Marks, which stay where they are. */
function marksOn({ session, shown: { layers }, fields }: Sources, job: Job): Taken[] {
  const boxed = (points: readonly SitePoint[], box = MARK_BOX): Taken[] => points.map((point) => ({ point, box }));
  const pegs = layers.pegs.value ? ringsOf(job).flatMap((ring) => ring.curve.pegs.map(pegPoint)) : [];
  const things = Object.values(job.site.things ?? {}).flatMap(({ kind, place }): Taken[] => (place.at === "point" ? [{ point: [place.east, place.north], box: kind === "stone_pile" ? MARK_BOX : SMALL_BOX }] : []));
  const probes = Object.values(job.site.probes ?? {}).flatMap(({ place, how }): SitePoint[] => (how === "pit" || how === "bore" ? [[place.east, place.north]] : []));
  return [
    ...pegs.flatMap((point): Taken[] => [{ point, box: DOT_BOX, from: PEGS_FROM }, { point, box: PEG_BOX, from: PEG_NAMES_FROM }]),
    ...boxed(layers.checks.value ? flagsOf(session.checks.value, leaves.value).map(({ point }) => point) : [], FLAG_BOX),
    ...boxed(layers.next.value ? nextShots(fields.of("next_shots").value).map(({ point }) => point) : [], RING_BOX),
    ...boxed(layers.reach.value ? wheelPlaces(fields.of("reach_wheels").value) : [], RING_BOX),
    ...boxed(layers.ways.value ? builtOf(job).flatMap(({ place }): SitePoint[] => (place.at === "point" ? [[place.east, place.north]] : [])) : [], RING_BOX),
    ...boxed(layers.piles.value ? soilPlaces(job).map(({ place }) => middleOfPlace(place)) : [], RING_BOX),
    ...boxed(wateredPoints(layers, job), RING_BOX),
    ...stoneMarks(layers, job).map((one): Taken => ({ point: one.point, box: isNamed(one) ? RING_BOX : DOT_BOX })),
    ...(layers.things.value ? things : []),
    ...boxed(layers.probes.value ? probes : []),
    ...(layers.bounds.value ? boundWords(job) : []),
  ];
}

/** Names that run along lines not to cross: the line is found by them, so that all others keep off. */
function boundWords(job: Job): Taken[] {
  return Object.values(job.site.bounds ?? {}).flatMap((bound): Taken[] => {
    const drawn = drawnPlace(job, bound.place);
    const name = bound.name || say(`plan.bound.${bound.kind}`);
    if (drawn === null) return [];
    if (drawn.as === "point") return [{ point: drawn.point, box: underBox(name, "below", 14), from: THINGS_FROM }];
    const { point, turn } = middleAlong(straightest(drawn.as === "line" ? drawn.line : [...drawn.ring, ...drawn.ring.slice(0, 1)]));
    return [{ point, box: onBox(name, turn), from: THINGS_FROM }];
  });
}

function wordsOn(desk: Sources, job: Job): Words[] {
  const { layers } = desk.shown;
  return [
    ...fallWords(job),
    ...(layers.ways.value ? seatWords(desk, job) : []),
    ...(layers.piles.value ? soilWords(job) : []),
    ...waterWords(layers, job),
    ...stoneWords(layers, job),
    ...(layers.banks.value ? bankWords(job) : []),
    ...(layers.things.value ? thingWords(job) : []),
    ...(layers.ways.value ? wayWords(job) : []),
  ];
}

function fallWords(job: Job): Words[] {
  return streamsOf(job).flatMap((stream) =>
    fallsOf(stream).map((fall): Words => ({ key: `fall:${fall.body}-${fall.at + 1}`, point: fall.point, lines: [say("plan.fall.drop", { drop: shownValue(fall.drop, "length") })], sides: ["right", "left"], gap: FALL_GAP, from: BUILT_FROM })),
  );
}

/** Seats get their room before things do, and room for the longest that may be told of them: their numbers follow the hand. */
function seatWords({ fields }: Sources, job: Job): Words[] {
  const isSeen = fields.of("views").value !== null;
  const falls = streamsOf(job).flatMap(fallsOf).map((fall) => say("plan.seat.fallPart", { share: "99 %", fall: shortFallName(job, fall) }));
  const more = isSeen ? [say("plan.seat.sees", { share: "99 %" }), ...falls.toSorted((one, other) => other.length - one.length).slice(0, 1)] : [];
  return builtOf(job).flatMap((built): Words[] => {
    if (built.place.at !== "point") return [];
    const { east, north } = built.place;
    const told = [nameOf(built), ...(built.kind === "seat" ? more : [])];
    return [{ key: `${built.kind}:${built.id}`, point: [east, north], lines: told.length > 2 ? inTwoLines(told) : told, ...(told.length > 2 ? { folded: told } : {}), sides: ["right", "left", "below", "above"], gap: SEAT_GAP, from: BUILT_FROM }];
  });
}

/** What is seen from a seat behind one another, under its name. */
export function inTwoLines([name = "", ...rest]: readonly string[]): string[] {
  return rest.length > 0 ? [name, rest.join(", ")] : [name];
}

function soilWords(job: Job): Words[] {
  return soilPlaces(job).map(({ kind, id, name, place }): Words => ({ key: `${kind}:${id}`, point: middleOfPlace(place), lines: [name], sides: ["below", "above"], gap: SOIL_GAP, from: SOIL_FROM }));
}

/** Readings, outlets, sumps, pipes through the liner and patches at a place, where their layer is on. */
function wateredPoints(layers: Sources["shown"]["layers"], job: Job): SitePoint[] {
  return wateredShown(layers, job).flatMap(({ place }): SitePoint[] => (place.at === "point" ? [[place.east, place.north]] : []));
}

function wateredShown(layers: Sources["shown"]["layers"], job: Job) {
  return [...wateredOf(job).filter(({ kind }) => (kind === "reading" ? layers.readings.value : layers.drains.value)), ...(layers.lined.value ? linedOf(job) : [])];
}

function waterWords(layers: Sources["shown"]["layers"], job: Job): Words[] {
  return wateredShown(layers, job).flatMap((row): Words[] => {
    const { place } = row;
    return place.at === "point" ? [{ key: `${row.kind}:${row.id}`, point: [place.east, place.north], lines: [nameOf(row)], sides: ["right", "left", "below", "above"], gap: WATER_GAP, from: WATER_FROM }] : [];
  });
}

/** Piles of stone and machines that set it, where their layer is on. */
function stoneMarks(layers: Sources["shown"]["layers"], job: Job) {
  return layers.stones.value ? stonePlaces(job).filter(({ kind }) => kind !== "stone") : [];
}

/** A machine is named once, where it stands first. */
export function isNamed({ at }: Pick<StonePlace, "at">): boolean {
  return at === undefined || at === 0;
}

function stoneWords(layers: Sources["shown"]["layers"], job: Job): Words[] {
  return stoneMarks(layers, job).filter(isNamed).map(({ kind, id, at, name, point }): Words => ({ key: `${kind}:${id}${at === undefined ? "" : `/${at}`}`, point, lines: [name], sides: ["right", "left", "below", "above"], gap: STONE_GAP, from: STONE_FROM }));
}

function bankWords(job: Job): Words[] {
  return Object.entries(job.shape.bodies ?? {}).flatMap(([body, row]) =>
    Object.entries(row.stretches ?? {}).flatMap(([id, stretch]): Words[] => {
      const ring = ringOf(job, { body, ring: stretch.ring ?? OUTER });
      const places = ring ? stretchPoints(ring, stretch) : [];
      if (places.length < 2) return [];
      return [{ key: `bank:${body}/${id}`, point: middleAlong(places).point, lines: [job.shape.bank_types?.[stretch.bank_type]?.name || stretch.bank_type], sides: ["right", "left", "below", "above"], gap: BANK_GAP, from: SOIL_FROM }];
    }),
  );
}

function thingWords(job: Job): Words[] {
  return Object.entries(job.site.things ?? {}).flatMap(([id, thing]): Words[] => {
    const drawn = drawnPlace(job, thing.place);
    const own = { key: `thing:${id}`, lines: [thing.name || id], gap: THING_GAP, from: THINGS_FROM };
    if (drawn === null || (drawn.as !== "point" && thing.kind === "utility")) return [];
    if (drawn.as === "point") return [{ ...own, point: drawn.point, sides: ["below", "above", "right", "left"] }];
    return [{ ...own, ...middleAlong(straightest(drawn.as === "line" ? drawn.line : drawn.ring)), sides: ALONG }];
  });
}

function wayWords(job: Job): Words[] {
  return builtOf(job).flatMap((built): Words[] => {
    const drawn = drawnPlace(job, built.place);
    if (drawn === null || drawn.as === "point") return [];
    const own = { key: `${built.kind}:${built.id}`, lines: [nameOf(built)], sides: ALONG, gap: 0, from: BUILT_FROM };
    if (drawn.as === "line") return [{ ...own, ...middleAlong(straightest(drawn.line)) }];
    return [{ ...own, point: middleOfRing(drawn.ring) }];
  });
}

/** Middle of the box around a ring. */
function middleOfRing(ring: readonly SitePoint[]): SitePoint {
  const [easts, norths] = [ring.map(([east]) => east), ring.map(([, north]) => north)];
  return [(Math.min(...easts) + Math.max(...easts)) / 2, (Math.min(...norths) + Math.max(...norths)) / 2];
}
