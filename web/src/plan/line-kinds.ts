/** What a line drawn on the plan can be: a line not to cross, a buried service, or a thing that stands there. */

import type { BoundKind, Job, Place, Service } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { type Signal, signal } from "../state/signal";
import { curveThrough } from "./rings";

export const BOUND_KINDS: readonly BoundKind[] = ["boundary", "setback", "easement", "septic", "well", "flood", "wetland", "stream", "tree", "other"];
export const SERVICES: readonly Service[] = ["water", "gas", "electric", "communications", "sewer", "drain", "irrigation", "heat", "other"];
export const LINE_THINGS = ["fence", "pipe"] as const;

export type LineWhat =
  | { readonly as: "bound"; readonly kind: BoundKind }
  | { readonly as: "service"; readonly kind: Service }
  | { readonly as: "thing"; readonly kind: (typeof LINE_THINGS)[number] };

/** What the next line is to be; whoever asks for a line sets it. */
export const lineWhat: Signal<LineWhat> = signal<LineWhat>({ as: "bound", kind: "boundary" });

const RINGS: ReadonlySet<BoundKind> = new Set(["boundary", "easement", "septic", "wetland", "tree"]);

/** Whether a line of a kind usually closes to an area. */
export function closesUsually(kind: BoundKind): boolean {
  return RINGS.has(kind);
}

/** Places as a place of the document: one is a point, a closed line of three or more an area with corners. */
export function placeThrough(points: readonly SitePoint[], closed: boolean): Place {
  const [first] = points;
  if (first && points.length === 1) return { at: "point", east: first[0], north: first[1] };
  if (!closed || points.length < 3) return { at: "line", points: points.map(([east, north]) => ({ east, north })) };
  return { at: "ring", curve: { pegs: curveThrough(points).pegs.map((peg) => ({ ...peg, corner: true })) } };
}

/** Places that a place was typed or drawn through; none where it names a part of a shore. */
export function pointsThrough(place: Place): SitePoint[] {
  if (place.at === "point") return [[place.east, place.north]];
  if (place.at === "line") return place.points.map(({ east, north }): SitePoint => [east, north]);
  return place.at === "ring" ? place.curve.pegs.map(({ east, north }): SitePoint => [east, north]) : [];
}

/** Row of a line not to cross. */
export function boundRow(kind: BoundKind, place: Place, { name, clear }: { name: string; clear: number | null }): Readonly<Record<string, unknown>> {
  return { kind, place, status: "existing", ...(name ? { name } : {}), ...(clear ? { clear } : {}) };
}

export interface ServiceWords {
  readonly name: string;
  readonly clear: number | null;
  readonly depth: number | null;
  readonly isPrivate: boolean;
}

/** Row of a buried service: a thing of the site. */
export function serviceRow(service: Service, place: Place, { name, clear, depth, isPrivate }: ServiceWords): Readonly<Record<string, unknown>> {
  return {
    kind: "utility",
    service,
    place,
    status: "existing",
    ...(name ? { name } : {}),
    ...(clear === null ? {} : { clear }),
    ...(depth === null ? {} : { depth }),
    ...(isPrivate ? { private: true } : {}),
  };
}

/** Buried services of a job, by id. */
export function servicesOf(job: Job) {
  return Object.entries(job.site.things ?? {}).filter(([, thing]) => thing.kind === "utility");
}
