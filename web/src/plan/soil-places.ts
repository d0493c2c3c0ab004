/** Piles and gates of a job: where they are, what lies under a press, and the edits that move them. Pure. */

import type { Job, Place } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { type Json, type Op, pointer } from "../state/ops";
import { placeThrough } from "./line-kinds";
import { type Drawn, drawnPlace } from "./places";
import { distance, isInside } from "./plane";
import { calledBy, json, middleOf, shifted } from "./rings";

export interface SoilPlace {
  readonly kind: "pile" | "gate";
  readonly id: string;
  readonly name: string;
  readonly place: Place;
}

const PATHS = { pile: ["earth", "piles"], gate: ["earth", "off_site"] } as const;

export function soilPlaces({ earth = {} }: Job): SoilPlace[] {
  return [
    ...Object.entries(earth.piles ?? {}).map(([id, { name, place }]): SoilPlace => ({ kind: "pile", id, name: name || calledBy(id), place })),
    ...Object.entries(earth.off_site ?? {}).map(([id, { name, gate }]): SoilPlace => ({ kind: "gate", id, name: name || calledBy(id), place: gate })),
  ];
}

export function soilPlace(job: Job, kind: string, id: string): SoilPlace | null {
  return soilPlaces(job).find((one) => one.kind === kind && one.id === id) ?? null;
}

/** Pile or gate under a press: the nearest mark, else a pile whose ring lies around it. */
export function soilPlaceAt(job: Job, at: SitePoint, within: number): SoilPlace | null {
  const all = soilPlaces(job);
  const near = all
    .map((one) => ({ one, away: distance(middleOfPlace(one.place), at) }))
    .filter(({ away }) => away <= within)
    .sort((one, other) => one.away - other.away);
  return near[0]?.one ?? all.find((one) => liesIn(drawnPlace(job, one.place), at)) ?? null;
}

function liesIn(drawn: Drawn | null, at: SitePoint): boolean {
  return drawn?.as === "ring" && isInside(drawn.ring, at);
}

/** The middle of a place, where its mark stands and its boxes count from. */
export function middleOfPlace(place: Place): SitePoint {
  if (place.at === "point") return [place.east, place.north];
  return place.at === "ring" ? middleOf(place.curve) : [Number.NaN, Number.NaN];
}

/** Path of the row of a pile or gate. */
export function pathOfSoil(kind: "pile" | "gate", id: string): string {
  return pointer(...PATHS[kind], id);
}

/** Put the middle of a pile or gate at a place. */
export function soilOps({ kind, id, place }: SoilPlace, to: SitePoint): Op[] {
  const middle = middleOfPlace(place);
  const by: SitePoint = [to[0] - middle[0], to[1] - middle[1]];
  const moved: Place = place.at === "ring" ? { ...place, curve: shifted(place.curve, by) } : { at: "point", east: to[0], north: to[1] };
  return [{ op: "add", path: pointer(...PATHS[kind], id, kind === "pile" ? "place" : "gate"), value: json(moved) }];
}

/** Place of a pile that was drawn: one or two presses are a point, more a ring. */
export function pilePlace(places: readonly SitePoint[]): Place {
  return placeThrough(places.length < 3 ? places.slice(0, 1) : places, places.length > 2);
}

export function pileRow(places: readonly SitePoint[]): Json {
  return json({ place: pilePlace(places), takes: "any" });
}
