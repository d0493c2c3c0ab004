/** Requests about what was surveyed: a pasted page of a level book, a file from outside. */

import type { Frame, Field } from "./frame";
import { ask } from "./rest";
import type { Book, Mark } from "./survey";
import type { Rows, Shot, ShownUnits } from "./types";

export { sentenceOf } from "./rest";

/** One row of a pasted page: its numbers as far as they can be read [m], and what is wrong by column. */
export interface PageRow {
  readonly line: number;
  readonly station: string;
  readonly point: string;
  readonly numbers: Readonly<Record<string, number>>;
  readonly remarks: string;
  readonly errors: Readonly<Record<string, string>>;
}

export interface BookPreview {
  readonly rows: readonly PageRow[];
  readonly columns: readonly string[];
  readonly book: Book;
  readonly marks: Rows<Mark>;
  readonly shots: Rows<Shot>;
  readonly says: string;
  /** Why there are no lines; empty where there are some. */
  readonly fault: string;
}

export interface BookAround {
  readonly shown_units: ShownUnits;
  readonly reads: "down" | "up";
  readonly marks: readonly string[];
  readonly shots: readonly string[];
}

export const previewBook = (text: string, around: BookAround) => ask<BookPreview>("POST", "/preview/book", { text, ...around });

/** The array of a name that is about a book; a frame may have none. */
export function fieldOf(frame: Frame | null, name: string, book: string): Field | undefined {
  return frame?.every.find((field) => field.head.name === name && field.head.book === book);
}

/** What a file does not tell: what was assumed, and what else it could be; empty must be answered. */
export interface Question {
  readonly about: "unit" | "height_unit" | "order" | "surface" | "epsg";
  readonly says: string;
  readonly assumed: string;
  readonly choices: readonly string[];
}

/** A file from outside as it was understood; it waits an hour. */
export interface IncomingFile {
  readonly token: string;
  readonly name: string;
  readonly form: string;
  readonly kind: "shots" | "cloud" | "grid" | "surface";
  readonly count: number;
  readonly taken: number;
  readonly left_out: readonly { readonly count: number; readonly why: string }[];
  readonly extent: readonly [west: number, south: number, east: number, north: number];
  readonly lowest: number;
  readonly highest: number;
  readonly epsg: number | null;
  readonly grid_name: string;
  readonly unit: string;
  readonly height_unit: string;
  readonly order: readonly string[];
  readonly surfaces: readonly string[];
  readonly says: readonly string[];
  readonly warnings: readonly string[];
  readonly questions: readonly Question[];
  readonly can_be: readonly TakenAs[];
  readonly outline_count: number;
  /** Heights from south to north, and where their south-west, south-east and north-west corners lie. */
  readonly picture: { readonly rows: readonly (readonly (number | null)[])[]; readonly corners: readonly (readonly [number, number])[] | null } | null;
}

export type TakenAs = "shots" | "cloud";

/** How a person wants a file to be understood; what is missing is for the file to tell. */
export interface Understood {
  readonly unit?: string | null;
  readonly height_unit?: string | null;
  readonly order?: readonly string[];
  readonly epsg?: number | null;
  readonly surface?: string;
  readonly heights?: "mean" | "lowest";
}

export interface TakenWith {
  readonly as: TakenAs | "";
  readonly tolerance?: number;
  readonly survey?: string | null;
  readonly edit: string;
  readonly author: string;
}

const incoming = (job: string): string => `/jobs/${job}/incoming`;
export const bringIn = (job: string, file: File) => ask<IncomingFile>("POST", `${incoming(job)}?name=${encodeURIComponent(file.name)}`, new Blob([file]));
export const lookAgain = (job: string, token: string, wanted: Understood) => ask<IncomingFile>("POST", `${incoming(job)}/${token}/look`, wanted);
export const takeIn = (job: string, token: string, wanted: TakenWith) => ask<{ rev: number; label: string }>("POST", `${incoming(job)}/${token}/take`, wanted);
export const leaveIt = (job: string, token: string) => ask<unknown>("DELETE", `${incoming(job)}/${token}`);
