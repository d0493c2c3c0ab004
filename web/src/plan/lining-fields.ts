/** What the server tells of the liners: where they end, their pieces and seams, their order and their edge. Pure; null where a frame does not tell. */

import type { Field, Frame } from "../api/frame";
import type { Line, OrderHead, RimHead } from "../api/lining-told";
import { rowsOf } from "../charts/fields";
import type { SitePoint } from "../geometry/types";

/** One piece as it lies on the plan, and the size in which it is ordered [m]. */
export interface PieceShown {
  /** Its letter in the piece list; empty while nothing is ordered. */
  readonly name: string;
  readonly corners: readonly SitePoint[];
  readonly length: number;
  readonly width: number;
}

export interface LinerShown {
  readonly liner: string;
  readonly onePiece: boolean;
  readonly ends: readonly (readonly SitePoint[])[];
  readonly pieces: readonly PieceShown[];
  readonly seams: readonly (readonly SitePoint[])[];
}

export interface OrderTold extends OrderHead {
  readonly liner: string;
  readonly pieces: readonly { readonly name: string; readonly corners: Line }[];
}

export interface RimPlace {
  readonly point: SitePoint;
  readonly station: number;
  readonly edge: number;
  readonly wanted: number;
  readonly ground: number;
  readonly ring: number;
}

/** A place of the shore at the lowest water. */
export interface BandPlace {
  readonly point: SitePoint;
  /** How much of the bank that lies dry there is bare liner [m]. */
  readonly bare: number;
  /** Whether it is seen from a seat or a path. */
  readonly seen: boolean;
}

export interface RimTold extends RimHead {
  readonly body: string;
  readonly places: readonly RimPlace[];
  /** Round the outer shore; empty where the water is not planned to fall. */
  readonly band: readonly BandPlace[];
}

const fieldsOf = (frame: Frame, name: string): readonly Field[] => frame.every.filter(({ head }) => head.name === name);

/** Liners as they lie on the plan; of a drag coarser than at rest. */
export function linersShownOf(frame: Frame | null): LinerShown[] | null {
  const [points, starts] = [frame?.fields["liner_ends_points"], frame?.fields["liner_ends_starts"]];
  if (!frame || !points || !starts) return null;
  const places = rowsOf(points).map(([east = 0, north = 0]): SitePoint => [east, north]);
  const lines = (starts.head.ids ?? []).map((liner, at) => ({ liner, line: places.slice(starts.data[at], starts.data[at + 1]) }));
  const seams = fieldsOf(frame, "liner_seams");
  return fieldsOf(frame, "liner_pieces").map((field): LinerShown => {
    const { liner = "", one_piece: onePiece = true } = field.head;
    const own = seams.find(({ head }) => head.liner === liner);
    return { liner, onePiece, ends: lines.filter((one) => one.liner === liner).map(({ line }) => line), pieces: rowsOf(field).map((row, at) => pieceOf(row, field.head.ids?.[at] ?? "")), seams: own ? rowsOf(own).map((row) => pairs(row.slice(0, 4))) : [] };
  });
}

function pieceOf(row: readonly number[], name: string): PieceShown {
  return { name, corners: pairs(row.slice(0, 8)), length: row[8] ?? 0, width: row[9] ?? 0 };
}

function pairs(row: readonly number[]): SitePoint[] {
  return Array.from({ length: row.length / 2 }, (_, at): SitePoint => [row[2 * at] ?? 0, row[2 * at + 1] ?? 0]);
}

export function ordersOf(frame: Frame | null): OrderTold[] | null {
  if (!frame?.fields["all_orders"]) return null;
  return fieldsOf(frame, "liner_order").flatMap((field): OrderTold[] => {
    const { liner = "", ids = [], order } = field.head;
    const rows = rowsOf(field);
    return order ? [{ ...order, liner, pieces: ids.map((name, at) => ({ name, corners: pairs(rows[at] ?? []) })) }] : [];
  });
}

export function rimsOf(frame: Frame | null): RimTold[] | null {
  if (!frame?.fields["all_rims"]) return null;
  return fieldsOf(frame, "liner_rim").flatMap((field): RimTold[] => {
    const { body = "", rim } = field.head;
    const band = fieldsOf(frame, "liner_band").find(({ head }) => head.body === body);
    return rim ? [{ ...rim, body, places: rowsOf(field).map(placeOf), band: band ? rowsOf(band).map(bandOf) : [] }] : [];
  });
}

function placeOf([east = 0, north = 0, station = 0, edge = 0, wanted = 0, ground = 0, ring = 0]: readonly number[]): RimPlace {
  return { point: [east, north], station, edge, wanted, ground, ring };
}

function bandOf([east = 0, north = 0, bare = 0, seen = 0]: readonly number[]): BandPlace {
  return { point: [east, north], bare, seen: seen > 0.5 };
}
