/** A table to type in, without its looks: columns, cells, and what a change of cells does to the job. */

import type { ShownUnits } from "../api/types";
import { type Trade, tradeText, tradeUnit } from "../format/trade";
import { type Kind, NotRead, format, parse } from "../format/units";
import { say } from "../format/words";
import type { Json, Op } from "../state/ops";

export interface Column {
  readonly key: string;
  readonly label: string;
  readonly holds: Kind | "words" | "yes or no" | readonly (readonly [value: string, words: string])[];
  /** Whether the cell may be empty. */
  readonly mayBeEmpty: boolean;
  /** Whether its cells are worked out and never typed; Tab goes past them. */
  readonly worked?: boolean;
  /** Decimals, where the usual ones are not enough. */
  readonly digits?: number;
  /** The trade tells its numbers in a unit of their own. */
  readonly trade?: Trade;
}

export type Values = Readonly<Record<string, Json>>;

export interface SheetRow {
  readonly id: string;
  readonly values: Values;
  /** Cells that cannot be typed in, with what stands there instead. */
  readonly fixed: Readonly<Record<string, string>>;
  /** Line of words above the row, where a new part of the table begins. */
  readonly heading?: string;
}

export interface RowChange {
  readonly id: string;
  readonly values: Values;
}

export interface Sheet {
  readonly columns: readonly Column[];
  readonly rows: readonly SheetRow[];
  /** Operations of changed and added rows, all as one edit; added rows go below a row, or to the end. */
  ops(changes: readonly RowChange[], added: readonly Values[], below?: string | null): Op[];
  /** Whether the order of the rows tells something, so that a row can be put in between. */
  readonly ordered?: boolean;
  /** What a new row still lacks, in one sentence; empty when it is whole. */
  lacks(values: Values): string;
  /** Operations that take a row away, or the sentence why it must stay. */
  removal(id: string): Op[] | string;
}

/** How texts are read and written just now. */
export interface Setting {
  readonly shown: ShownUnits;
  readonly waterLine: number | null;
  readonly relative: boolean;
}

export interface PastedCell {
  readonly column: Column;
  readonly text: string;
  readonly value: Json;
  readonly fault: string;
}

export interface PastedRow {
  /** Row that it falls on; null makes a new one. */
  readonly id: string | null;
  readonly cells: readonly PastedCell[];
  readonly fault: string;
}

export interface Pasted {
  readonly rows: readonly PastedRow[];
  readonly good: number;
  readonly bad: number;
}

/** Text of a cell. */
export function cellText(column: Column, value: Json | undefined, { shown, waterLine, relative }: Setting): string {
  if (value === undefined || value === null) return "";
  const { holds } = column;
  if (holds === "words") return String(value);
  if (holds === "yes or no") return value === true ? say("app.yes").toLowerCase() : "";
  if (typeof holds !== "string") return holds.find(([key]) => key === value)?.[1] ?? String(value);
  if (column.trade) return tradeText(value as number, column.trade, shown);
  return format(value as number, holds, shown, { digits: column.digits ?? null, relativeTo: holds === "elevation" && relative ? waterLine : null });
}

/** Value that was typed or pasted into a cell; throws NotRead with one sentence. */
export function cellValue(column: Column, typed: string, { shown, waterLine, relative }: Setting): Json {
  const text = typed.trim();
  const { holds } = column;
  if (holds === "words") return text;
  if (holds === "yes or no") return yesOrNo(text);
  if (text === "") {
    if (!column.mayBeEmpty) throw new NotRead(`${column.label} is needed here.`);
    return null;
  }
  if (typeof holds !== "string") {
    const found = holds.find(([key, words]) => [key, words].some((one) => one.toLowerCase() === text.toLowerCase()));
    if (!found) throw new NotRead(say("table.oneOf", { words: holds.map(([, words]) => words).join(", ") }));
    return found[0];
  }
  return parse(text, holds, shown, waterLine, { relative, unit: column.trade ? tradeUnit(column.trade, shown) : null }).value;
}

function yesOrNo(text: string): boolean {
  const word = text.toLowerCase();
  if (["", "no", "n", "0", "false", "-"].includes(word)) return false;
  if (["yes", "y", "1", "true", "x"].includes(word)) return true;
  throw new NotRead(say("table.yesNo"));
}

/** Cells of text copied from a spreadsheet: tabs between cells, a line for each row. */
export function cellsOf(text: string): string[][] {
  const lines = text.replace(/\r\n?/g, "\n").replace(/\n+$/, "").split("\n");
  return lines.map((line) => line.split("\t").map((cell) => cell.replace(/^"(.*)"$/s, "$1").replaceAll('""', '"')));
}

/** What a paste at a cell would do, cell by cell; nothing is changed. */
export function planned(sheet: Sheet, atRow: number, atColumn: number, text: string, setting: Setting): Pasted {
  const rows = cellsOf(text).map((texts, down): PastedRow => {
    const row = sheet.rows[atRow + down];
    const cells = texts.flatMap((cell, across): PastedCell[] => {
      const column = sheet.columns[atColumn + across];
      if (!column) return [];
      return [readCell(column, cell, row, setting)];
    });
    const tooWide = atColumn + texts.length > sheet.columns.length;
    const lacks = row ? "" : sheet.lacks(valuesOf(cells));
    return { id: row?.id ?? null, cells, fault: lacks || (tooWide ? say("table.tooMany") : "") };
  });
  const cells = rows.flatMap((row) => row.cells);
  const bad = cells.filter(({ fault }) => fault !== "").length;
  return { rows, good: cells.length - bad, bad: bad + rows.filter(({ fault }) => fault !== "").length };
}

function readCell(column: Column, text: string, row: SheetRow | undefined, setting: Setting): PastedCell {
  if (row && column.key in row.fixed) return { column, text, value: null, fault: say("table.notHere") };
  try {
    return { column, text, value: cellValue(column, text, setting), fault: "" };
  } catch (fault) {
    if (fault instanceof NotRead) return { column, text, value: null, fault: fault.message };
    throw fault;
  }
}

/** Operations of all cells of a paste that can be taken: one edit. */
export function pasteOps(sheet: Sheet, pasted: Pasted): Op[] {
  const changes = pasted.rows.flatMap((row): RowChange[] => {
    const values = valuesOf(row.cells);
    return row.id === null || Object.keys(values).length === 0 ? [] : [{ id: row.id, values }];
  });
  const added = pasted.rows
    .filter((row) => row.id === null)
    .map((row) => valuesOf(row.cells))
    .filter((values) => sheet.lacks(values) === "");
  return changes.length + added.length === 0 ? [] : sheet.ops(changes, added);
}

function valuesOf(cells: readonly PastedCell[]): Values {
  return Object.fromEntries(cells.filter(({ fault }) => fault === "").map(({ column, value }) => [column.key, value]));
}
