/** The binary frame that the server sends: a JSON header, then arrays that are read in place. */

import type { OrderHead, RimHead } from "./lining-told";
import type { Op } from "../state/ops";
import type { Finding } from "./types";

export type NumberArray = Float64Array | Float32Array | Int32Array | Int16Array | Int8Array | Uint8Array;

export interface ArrayHead {
  readonly name: string;
  readonly dtype: "float64" | "float32" | "int32" | "int16" | "int8" | "uint8";
  readonly shape: readonly number[];
  readonly offset: number;
  readonly scale?: number;
  readonly zero?: number;
  readonly columns?: readonly string[];
  /** Body of water that the array is about. */
  readonly body?: string;
  /** Ring of that body, or a bank of a stream. */
  readonly ring?: string;
  /** Of a shore unrolled: the mouths and overflows that its last column counts. */
  readonly openings?: readonly { readonly kind: "mouth" | "overflow"; readonly name: string }[];
  /** Level book that it is about. */
  readonly book?: string;
  /** Names of its rows, one each. */
  readonly ids?: readonly string[];
  /** A sentence for each of its rows. */
  readonly says?: readonly string[];
  /** Stream of soil of each of its rows. */
  readonly streams?: readonly string[];
  /** Way to bend a shore that the array is about. */
  readonly variant?: string;
  /** Row of a table of levels at which the soil balances. */
  readonly balanced?: number | null;
  /** Why no water can stand there as it is drawn, or what would stop the job there. */
  readonly balance_refused?: string;
  readonly balance_warned?: string;
  /** Of contours: their interval [m], and which of them is an index line. */
  readonly interval?: number;
  readonly every?: number;
  /** Of a section: the number that stands for "no water". */
  readonly dry?: number;
  /** Grid of its own, where it is not on that of the frame. */
  readonly grid?: FrameGrid;
  /** Drain that a profile is of; stations of its bends and rodding eyes, falls of its pieces, its bore, and where it runs out. */
  readonly drain?: string;
  readonly bends?: readonly number[];
  readonly falls?: readonly number[];
  readonly eyes?: readonly number[];
  readonly diameter?: number;
  readonly ends?: string;
  readonly flood?: number | null;
  /** Route that was found, where it runs out, what it crosses, and the edit that lays it; places from which none falls. */
  readonly route?: string;
  readonly outlet?: string;
  readonly crosses?: readonly string[];
  readonly ops?: readonly Op[];
  readonly stuck?: readonly string[];
  /** Of ways out, one each: why it is refused, whether it holds, and its edit. */
  readonly refused?: readonly string[];
  readonly holds?: readonly boolean[];
  readonly edits?: readonly (readonly Op[])[];
  /** Course of stones: the cover that told of it, its number from the shore, its height and its foot [m], how many lie on one another, whether it hides its step. */
  readonly row?: string;
  /** Of stones, one each: the place dealt to it or the machine that sets it, and whether that one can. */
  readonly places?: readonly string[];
  readonly verdicts?: readonly string[];
  /** Of places for stones, one each: the row of the document that wants them, and their class. */
  readonly sources?: readonly string[];
  readonly classes?: readonly string[];
  readonly course?: number;
  readonly tall?: number;
  readonly foot?: number;
  readonly rows?: number;
  readonly hidden?: boolean;
  /** Liner that its pieces are of, whether it is one piece, and its order; the edge of the liner of a body. */
  readonly liner?: string;
  readonly one_piece?: boolean;
  readonly order?: OrderHead;
  readonly rim?: RimHead;
}

export interface FrameGrid {
  readonly origin_east: number;
  readonly origin_north: number;
  readonly spacing: number;
  readonly columns: number;
  readonly rows: number;
}

export interface FrameHeader {
  readonly seq: number;
  readonly rev: number;
  readonly lod: number;
  readonly state: "exact" | "moving";
  /** By stage, then by path. */
  readonly figures: Readonly<Record<string, StageFigures>>;
  readonly stages: Readonly<Record<string, string>>;
  readonly checks: readonly Finding[];
  readonly grid: FrameGrid | null;
  readonly arrays: readonly ArrayHead[];
}

export type StageFigures = Readonly<Record<string, number | null>>;

/** As it travels: only what is new since another frame, and the places in its list of the checks that are not. */
interface SentHeader extends Omit<FrameHeader, "checks"> {
  readonly since: number | null;
  readonly checks: readonly (Finding | number)[];
}

export interface Field {
  readonly head: ArrayHead;
  readonly data: NumberArray;
  readonly shape: readonly number[];
  readonly scale: number;
  readonly zero: number;
  readonly columns: readonly string[];
}

export interface Frame {
  readonly header: FrameHeader;
  /** Arrays by name; of several with one name (one a body) the first. */
  readonly fields: Readonly<Record<string, Field>>;
  /** All arrays, in the server's order. */
  readonly every: readonly Field[];
}

const MAGIC = "PWF1";
const MAKERS = {
  float64: Float64Array,
  float32: Float32Array,
  int32: Int32Array,
  int16: Int16Array,
  int8: Int8Array,
  uint8: Uint8Array,
} as const;

/** Read a frame that goes on from the one before; throws an Error when the bytes are not one, or it goes on from another. */
export function decodeFrame(bytes: ArrayBuffer, before: Frame | null = null): Frame {
  const magic = new TextDecoder().decode(new Uint8Array(bytes, 0, 4));
  if (magic !== MAGIC) throw new Error(`not a frame: it begins with ${magic}`);
  const length = new DataView(bytes).getUint32(4, true);
  const header = whole(JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 8, length))) as SentHeader, before?.header ?? null);
  const start = 8 + length;
  const every = header.arrays.map((head) => fieldOf(bytes, start, head));
  const fields = Object.fromEntries(every.toReversed().map((field) => [field.head.name, field]));
  return { header, fields, every };
}

/** A header with everything that the frames before it told; a list of checks in which nothing is new stays the same object. */
function whole({ since, ...header }: SentHeader, before: FrameHeader | null): FrameHeader {
  if (since !== null && since !== before?.seq) throw new Error(`this frame goes on from frame ${since}, and the last one was ${before?.seq ?? "none"}`);
  const known = since === null ? null : before;
  return { ...header, figures: { ...known?.figures, ...header.figures }, checks: told(header.checks, known?.checks ?? []) };
}

function told(checks: SentHeader["checks"], before: readonly Finding[]): readonly Finding[] {
  if (checks.length === before.length && checks.every((check, place) => check === place)) return before;
  return checks.map((check) => (typeof check === "number" ? before[check] as Finding : check));
}

/** The array of a name that is about a body; without a body the first. */
export function fieldOfBody(frame: Frame, name: string, body: string | null): Field | undefined {
  const own = frame.every.filter((field) => field.head.name === name);
  return own.find((field) => field.head.body === body) ?? own[0];
}

/** Value of a field's element in its own unit (metres for heights). */
export function valueOf(field: Field, index: number): number {
  return (field.data[index] ?? Number.NaN) * field.scale + field.zero;
}

function fieldOf(bytes: ArrayBuffer, start: number, head: ArrayHead): Field {
  const size = head.shape.reduce((product, side) => product * side, 1);
  return {
    head,
    data: new MAKERS[head.dtype](bytes, start + head.offset, size),
    shape: head.shape,
    scale: head.scale ?? 1,
    zero: head.zero ?? 0,
    columns: head.columns ?? [],
  };
}
