/** What the server tells of drains, routes and ways out, read from a frame. Pure; null where a frame does not tell. */

import type { Field, Frame } from "../api/frame";
import { rowsOf } from "../charts/fields";
import type { SitePoint } from "../geometry/types";
import type { Op } from "../state/ops";

export interface DrainPlace {
  readonly station: number;
  readonly point: SitePoint;
  readonly invert: number;
  readonly ground: number;
  readonly finish: number;
  /** What is dug to; under a pond the underside of its liner. */
  readonly under: number;
  readonly lined: boolean;
  /** Groundwater of the wet season once the job is built; null where nobody knows it. */
  readonly water: number | null;
}

export interface DrainLine {
  readonly id: string;
  readonly places: readonly DrainPlace[];
  readonly bends: readonly number[];
  readonly falls: readonly number[];
  readonly eyes: readonly number[];
  readonly diameter: number;
  /** Outlet or sump where it runs out at last; empty where nobody said. */
  readonly ends: string;
  readonly flood: number | null;
}

export interface RouteFound {
  readonly name: string;
  readonly outlet: string;
  readonly points: readonly SitePoint[];
  readonly inverts: readonly number[];
  readonly crosses: readonly string[];
  readonly ops: readonly Op[];
}

export interface Offer {
  readonly id: string;
  readonly says: string;
  /** Why it cannot be had; empty where it can. */
  readonly refused: string;
  readonly holds: boolean;
  readonly ops: readonly Op[];
  readonly change: number | null;
  readonly excess: number | null;
  readonly net: number | null;
  readonly mark: number | null;
  readonly flow: number | null;
}

export interface OffersOfBody {
  readonly body: string;
  readonly offers: readonly Offer[];
}

const UNKNOWN = -9999;

/** Level of the groundwater, or null where the server says that nobody knows it. */
export function known(level: number): number | null {
  return level > UNKNOWN + 1 ? level : null;
}

/** Arrays of a name in a frame that tells of them all; null in one that does not. */
function toldBy(frame: Frame | null, all: string, name: string): readonly Field[] | null {
  if (frame?.fields[all] === undefined) return null;
  return frame.every.filter(({ head }) => head.name === name);
}

export function drainsOf(frame: Frame | null): DrainLine[] | null {
  const told = toldBy(frame, "all_drains", "drains");
  return told && told.map((field): DrainLine => {
    const { drain = "", bends = [], falls = [], eyes = [], diameter = 0, ends = "", flood = null } = field.head;
    return { id: drain, places: rowsOf(field).map(placeOf), bends, falls, eyes, diameter, ends, flood };
  });
}

function placeOf([station = 0, east = 0, north = 0, invert = 0, ground = 0, finish = 0, under = 0, lined = 0, water = UNKNOWN]: readonly number[]): DrainPlace {
  return { station, point: [east, north], invert, ground, finish, under, lined: lined > 0.5, water: known(water) };
}

export function routesOf(frame: Frame | null): { readonly routes: readonly RouteFound[]; readonly stuck: readonly string[] } | null {
  const told = toldBy(frame, "all_routes", "routes");
  if (told === null) return null;
  const routes = told.map((field): RouteFound => {
    const rows = rowsOf(field);
    const { route = "", outlet = "", crosses = [], ops = [] } = field.head;
    return { name: route, outlet, points: rows.map(([east = 0, north = 0]): SitePoint => [east, north]), inverts: rows.map((row) => row[2] ?? 0), crosses, ops };
  });
  return { routes, stuck: frame?.fields["all_routes"]?.head.stuck ?? [] };
}

export function offersOf(frame: Frame | null): OffersOfBody[] | null {
  const told = toldBy(frame, "all_offers", "offers");
  return told && told.map((field): OffersOfBody => {
    const { body = "", ids = [], says = [], refused = [], holds = [], edits = [] } = field.head;
    const rows = rowsOf(field);
    const offers = ids.map((id, at): Offer => {
      const [change, excess, net, mark, flow] = (rows[at] ?? []).map((value) => (Number.isFinite(value) ? value : null));
      return { id, says: says[at] ?? "", refused: refused[at] ?? "", holds: holds[at] ?? false, ops: edits[at] ?? [], change: change ?? null, excess: excess ?? null, net: net ?? null, mark: mark ?? null, flow: flow ?? null };
    });
    return { body, offers };
  });
}

/** A reader that answers with what the newest frame that tells has told, and with nothing before. */
export function newestTold<T>(read: (frame: Frame | null) => T | null): (frame: Frame | null) => T | null {
  let last: T | null = null;
  return (frame) => {
    last = read(frame) ?? last;
    return last;
  };
}
