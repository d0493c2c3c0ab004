/** Wishes and what they are tied to: the number that a figure must keep to, or a check. */

import type { Job, Wish, WishOffer } from "../api/types";

/** Body that the first shoreline makes: a wish may be about it before it is drawn. */
const FIRST_BODY = "pond";

/** Rows that an offer can be about, with their names: a body, a line not to cross, a thing; null when it is about the whole job. */
export function rowsFor(offer: WishOffer, job: Job): readonly (readonly [id: string, name: string])[] | null {
  if (!offer.figure.includes("*")) return null;
  const named = (rows: Readonly<Record<string, { readonly name?: string }>> | undefined) =>
    Object.entries(rows ?? {}).map(([id, row]) => [id, row.name || id.replaceAll("_", " ")] as const);
  if (offer.figure.includes(".bounds.*")) return named(job.site.bounds);
  if (offer.figure.includes(".things.*")) return named(job.site.things);
  const bodies = named(job.shape.bodies);
  return bodies.length > 0 ? bodies : [[FIRST_BODY, FIRST_BODY]];
}

/** Path of the figure that an offer is about, of one row. */
export function figureOf({ figure }: WishOffer, row: string): string {
  return figure.replace("*", row);
}

/** The row that the figure of a wish is about; null when it is about none, or about another figure. */
export function rowOf(pattern: string, path: string): string | null {
  const [wanted, names] = [pattern.split("."), path.split(".")];
  if (names.length !== wanted.length || !wanted.every((name, at) => name === "*" || name === names[at])) return null;
  return names[wanted.indexOf("*")] ?? "";
}

/** The offer that a wish was tied to; undefined when it is tied to nothing, or to what is not offered. */
export function offerOf(wish: Wish, offers: readonly WishOffer[]): WishOffer | undefined {
  const { figure, becomes } = wish;
  if (becomes) return offers.find((offer) => offer.becomes === becomes);
  if (!figure) return undefined;
  const about = offers.filter((offer) => offer.figure && rowOf(offer.figure, figure) !== null);
  return about.find((offer) => isNumber(wish[offer.bound || "at_least"])) ?? about[0];
}

/** A wish that is in words only. */
export function untied({ becomes: _becomes, figure: _figure, at_least: _least, at_most: _most, ...words }: Wish): Wish {
  return words;
}

/** A wish tied to a check. */
export function tiedToCheck(wish: Wish, becomes: string): Wish {
  return { ...untied(wish), becomes };
}

/** A wish about a figure; without a number it is in words only, for the document knows no such wish. */
export function tiedToFigure(wish: Wish, offer: WishOffer, row: string, value: number | null): Wish {
  return value === null ? untied(wish) : { ...untied(wish), figure: figureOf(offer, row), [offer.bound || "at_least"]: value };
}

/** The number of a wish that is tied to an offer. */
export function numberOf(wish: Wish, offer: WishOffer): number | null {
  return wish[offer.bound || "at_least"] ?? null;
}

function isNumber(value: number | null | undefined): value is number {
  return value !== null && value !== undefined;
}
