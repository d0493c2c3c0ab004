/**
 * A level book as a table: one line a reading, the number in the column that says what it was for.
 *
 * The document holds set-ups with backsights and readings; here they are one list of lines, because that
 * is how a page is written.  A backsight after other readings begins the next set-up.
 */

import type { Book, Mark, Reading, SetUp } from "../api/survey";
import type { Job, ShownUnits } from "../api/types";
import { format } from "../format/units";
import { say } from "../format/words";
import { setOps } from "../state/changes";
import { type Json, type Op, pointer } from "../state/ops";
import type { Column, RowChange, Sheet, SheetRow, Values } from "./sheet";

export type Role = "back" | "side" | "turn" | "check";

/** One line of the page. */
export interface BookLine {
  /** Set-up that it is read from, from 0; null for a line that is not in the book yet. */
  readonly setUp: number | null;
  readonly role: Role;
  readonly point: string;
  readonly rod: number;
  readonly distance?: number | null;
  readonly noted?: number | null;
}

/** What a line comes to; NaN where nothing known leads to it. */
export interface Worked {
  readonly instrument: number;
  readonly elevation: number;
  readonly correction: number;
  readonly adjusted: number;
}

export const SHOWN_OF: Readonly<Record<NonNullable<Book["unit"]>, ShownUnits>> = { m: "metric", ft: "us", ft_in: "us_inch" };
const UNIT_OF: Readonly<Record<ShownUnits, NonNullable<Book["unit"]>>> = { metric: "m", us: "ft", us_inch: "ft_in" };
const MOST_LETTERS = 40;

/** Units in which a book is written. */
export function shownOf(book: Book): ShownUnits {
  return SHOWN_OF[book.unit ?? "m"];
}

/** How finely the numbers of a book are written: to the step of its rod. */
export function bookStyle(book: Book): { readonly digits?: number } {
  return book.unit === "ft_in" ? {} : { digits: book.unit === "ft" ? 2 : 3 };
}

/** Empty book in the units of the page. */
export function newBook(shown: ShownUnits): Json {
  return { unit: UNIT_OF[shown] };
}

/** Lines of a book in the order of its pages. */
export function linesOf(book: Book): BookLine[] {
  return (book.set_ups ?? []).flatMap((setUp, at) => [
    ...setUp.backsights.map((reading) => lineOf(reading, at, "back")),
    ...(setUp.readings ?? []).map((reading) => lineOf(reading, at, reading.kind ?? "side")),
  ]);
}

function lineOf({ point, rod, distance, noted }: Reading, setUp: number, role: Role): BookLine {
  return { setUp, role, point, rod, distance: distance ?? null, noted: noted ?? null };
}

/** Set-ups that a list of lines makes; stations are kept by the number that a set-up had. */
export function setUpsOf(lines: readonly BookLine[], stations: readonly string[]): SetUp[] {
  const made: { station: string; was: number | null; backsights: Reading[]; readings: Reading[] }[] = [];
  for (const line of lines) {
    const open = made.at(-1);
    const moved = line.setUp !== null && open !== undefined && open.was !== null && line.setUp !== open.was;
    const begins = open === undefined || moved || (line.role === "back" && open.readings.length > 0);
    const own = begins ? { station: stationOf(line, stations, made), was: line.setUp, backsights: [], readings: [] } : open;
    if (begins) made.push(own);
    if (own.was === null) own.was = line.setUp;
    if (line.role === "back") own.backsights.push(readingOf(line));
    else own.readings.push({ ...readingOf(line), kind: line.role });
  }
  return made.map(({ station, backsights, readings }) => ({ station, backsights, readings }));
}

/** A set-up that was split in two keeps its station in the first part. */
function stationOf(line: BookLine, stations: readonly string[], made: readonly { readonly was: number | null }[]): string {
  const taken = made.some(({ was }) => was === line.setUp);
  return line.setUp === null || taken ? "" : (stations[line.setUp] ?? "");
}

function readingOf({ point, rod, distance, noted }: BookLine): Reading {
  return { point, rod, ...(distance == null ? {} : { distance }), ...(noted == null ? {} : { noted }) };
}

/** Name of a point as the job writes it, `BM 1` as `bm_1`, `12` as `p12`; a known one for another spelling of it. */
export function pointId(typed: string, known: readonly string[] = []): string {
  const plain = typed.trim().toLowerCase().replaceAll(/[^a-z0-9]+/g, "_").replaceAll(/^_+|_+$/g, "");
  const own = (/^[a-z]/.test(plain) || plain === "" ? plain : `p${plain}`).slice(0, MOST_LETTERS);
  return known.find((name) => keyOf(name) === keyOf(own)) ?? own;
}

/** A letter and a number may be written together or apart; two numbers may not: 1_1 is not 11. */
function keyOf(name: string): string {
  return name.replaceAll(/(?<=[a-z])_|_(?=[a-z])/g, "");
}

/** Points that a job knows, and those of some lines. */
export function pointsOf(job: Job, lines: readonly BookLine[]): string[] {
  return [...new Set([...Object.keys(job.site.marks ?? {}), ...Object.keys(job.site.shots ?? {}), ...lines.map(({ point }) => point)])];
}

/** What a foresight is for: it closes on what is known, and carries the level on otherwise. */
export function foreRole(point: string, before: readonly BookLine[], marks: Readonly<Record<string, Mark>>): "turn" | "check" {
  const known = (marks[point]?.elevation ?? null) !== null;
  return known || before.some((line) => line.point === point && line.role !== "side") ? "check" : "turn";
}

/** Operations that put other lines in a book; points that are only read become shots without a place yet. */
export function linesOps(job: Job, id: string, book: Book, lines: readonly BookLine[], codes: Readonly<Record<string, string>> = {}): Op[] {
  const stations = (book.set_ups ?? []).map(({ station }) => station);
  const value = setUpsOf(lines, stations) as unknown as Json;
  return [{ op: "add", path: pointer("site", "books", id, "set_ups"), value }, ...shotOps(job, lines, codes)];
}

function shotOps(job: Job, lines: readonly BookLine[], codes: Readonly<Record<string, string>>): Op[] {
  const shots = job.site.shots ?? {};
  const marks = job.site.marks ?? {};
  const carried = new Set(lines.filter(({ role }) => role !== "side").map(({ point }) => point));
  const fresh = new Set(lines.map(({ point }) => point).filter((point) => !(point in shots) && !(point in marks) && !carried.has(point)));
  const added = [...fresh].map((point): Op => ({ op: "add", path: pointer("site", "shots", point), value: { place: { by: "book" }, ...(codes[point] ? { code: codes[point] } : {}) } }));
  const told = Object.entries(codes).filter(([point]) => point in shots);
  return [...added, ...told.flatMap(([point, code]) => setOps(job, ["site", "shots", point, "code"], code))];
}

// The table.

interface Kept {
  readonly job: Job;
  readonly id: string;
  readonly book: Book;
  readonly worked: readonly Worked[];
}

/** The table of a book. */
export function bookSheet(job: Job, id: string, worked: readonly Worked[]): Sheet | null {
  const book = job.site.books?.[id];
  if (!book) return null;
  const kept: Kept = { job, id, book, worked };
  const lines = linesOf(book);
  const withNoted = lines.some(({ noted }) => noted != null);
  return {
    columns: columnsOf(book, withNoted),
    rows: lines.map((line, at) => rowOf(kept, lines, line, at)),
    ordered: true,
    ops: (changes, added, below = null) => changedOps(kept, lines, changes, added, below),
    lacks: (values) => (typeof values["point"] === "string" && pointId(values["point"]) !== "" && rodOf(values) !== null ? "" : say("book.needs")),
    removal: (row) => linesOps(job, id, book, lines.filter((_, at) => rowId(at) !== row)),
  };
}

function columnsOf(book: Book, withNoted: boolean): Column[] {
  const fine = bookStyle(book);
  const column = (key: string, holds: Column["holds"], more: Partial<Column> = {}): Column => ({
    key, label: say(`book.column.${key}` as Parameters<typeof say>[0]), holds, mayBeEmpty: true, ...more,
  });
  return [
    column("point", "words", { mayBeEmpty: false }),
    column("back", "length", fine),
    column("instrument", "elevation", { ...fine, worked: true }),
    column("between", "length", fine),
    column("fore", "length", fine),
    column("elevation", "elevation", { ...fine, worked: true }),
    column("distance", "length", book.unit === "ft_in" ? {} : { digits: 1 }),
    ...(withNoted ? [column("noted", "elevation", fine)] : []),
    column("correction", "length", { ...fine, worked: true }),
    column("adjusted", "elevation", { ...fine, worked: true }),
    column("remarks", "words"),
  ];
}

function rowId(at: number): string {
  return String(at + 1);
}

function rowOf({ job, book, worked }: Kept, lines: readonly BookLine[], line: BookLine, at: number): SheetRow {
  const shot = job.site.shots?.[line.point];
  const mark = job.site.marks?.[line.point];
  const begins = at === 0 || lines[at - 1]?.setUp !== line.setUp;
  const comes = worked[at];
  const told = (value: number | undefined, kind: "elevation" | "length"): string =>
    value === undefined || Number.isNaN(value) ? "" : format(value, kind, shownOf(book), bookStyle(book));
  return {
    id: rowId(at),
    values: {
      point: line.point,
      back: line.role === "back" ? line.rod : null,
      between: line.role === "side" ? line.rod : null,
      fore: line.role === "turn" || line.role === "check" ? line.rod : null,
      distance: line.distance ?? null,
      noted: line.noted ?? null,
      remarks: shot ? (shot.code ?? "") : "",
    },
    fixed: {
      instrument: line.role === "back" ? told(comes?.instrument, "elevation") : "",
      elevation: told(comes?.elevation, "elevation"),
      correction: told(comes?.correction, "length"),
      adjusted: told(comes?.adjusted, "elevation"),
      ...(shot ? {} : { remarks: mark ? mark.name || say("book.mark") : line.role === "side" ? "" : say("book.turning") }),
    },
    ...(begins ? { heading: headingOf(book, line.setUp ?? 0) } : {}),
  };
}

/** Words above the lines of a set-up. */
export function headingOf(book: Book, setUp: number): string {
  const station = book.set_ups?.[setUp]?.station ?? "";
  return station ? say("book.setUpAt", { number: setUp + 1, station }) : say("book.setUp", { number: setUp + 1 });
}

function changedOps({ job, id, book }: Kept, lines: readonly BookLine[], changes: readonly RowChange[], added: readonly Values[], below: string | null): Op[] {
  const codes: Record<string, string> = {};
  const marks = job.site.marks ?? {};
  const known = pointsOf(job, lines);
  const made: BookLine[] = [];
  const put = (values: Values, was: BookLine | null): void => {
    const next = lineFrom(values, was, made, marks, known);
    if (next === null) return;
    made.push(next);
    if (typeof values["remarks"] === "string" && (was !== null || values["remarks"] !== "")) codes[next.point] = values["remarks"];
  };
  for (const [at, line] of lines.entries()) {
    const own = changes.filter((change) => change.id === rowId(at)).map((change) => change.values);
    put(Object.assign({}, ...own) as Values, line);
    if (rowId(at) === below) for (const values of added) put(values, null);
  }
  if (below === null || !lines.some((_, at) => rowId(at) === below)) for (const values of added) put(values, null);
  return linesOps(job, id, book, made, codes);
}

/** Line that the cells of a row tell; null when its reading was taken out. */
function lineFrom(values: Values, was: BookLine | null, before: readonly BookLine[], marks: Readonly<Record<string, Mark>>, known: readonly string[]): BookLine | null {
  const point = typeof values["point"] === "string" ? pointId(values["point"], known) || (was?.point ?? "") : (was?.point ?? "");
  const read = rodOf(values);
  const emptied = was !== null && read === null && values[columnOf(was.role)] === null;
  if (point === "" || emptied) return null;
  const [column, rod] = read ?? [was === null ? "between" : columnOf(was.role), was?.rod ?? 0];
  const isSameFore = column === "fore" && was !== null && columnOf(was.role) === "fore" && was.point === point;
  const role = column === "back" ? "back" : column === "between" ? "side" : isSameFore ? was.role : foreRole(point, before, marks);
  const number = (key: string, otherwise: number | null | undefined): number | null => (values[key] === undefined ? (otherwise ?? null) : (values[key] as number | null));
  return { setUp: was?.setUp ?? null, role, point, rod, distance: number("distance", was?.distance), noted: number("noted", was?.noted) };
}

function columnOf(role: Role): "back" | "between" | "fore" {
  return role === "back" ? "back" : role === "side" ? "between" : "fore";
}

function rodOf(values: Values): readonly ["back" | "between" | "fore", number] | null {
  for (const column of ["back", "between", "fore"] as const) {
    const value = values[column];
    if (typeof value === "number") return [column, value];
  }
  return null;
}
