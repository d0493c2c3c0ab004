/** The table of levels of a body in a frame, and where on it the soil balances. Pure; house units. */

import type { Field } from "../api/frame";
import { rowsOf } from "./fields";

export const LEVEL_COLUMNS = [
  ...(["level", "dug", "placed", "surplus", "loads", "rim_to_raise", "highest_raise", "liner", "volume", "area"] as const),
  ...(["lip", "runs_over", "filled_volume", "filled_area", "filled_runs_over", "others_leave"] as const),
] as const;

export type LevelColumn = (typeof LEVEL_COLUMNS)[number];
export interface LevelRow extends Readonly<Record<LevelColumn, number>> {
  /** Whether the soil balances at this very level. */
  readonly balanced: boolean;
  /** What speaks against this level, or nothing. */
  readonly says: string;
}

/** What speaks against the level at which the soil balances. */
export interface Said {
  readonly refused: string;
  readonly warned: string;
}

export const saidOf = (field: Field | null): Said => ({ refused: field?.head.balance_refused ?? "", warned: field?.head.balance_warned ?? "" });

/** Each thing that speaks against levels, with those levels, lowest first. */
export function reasons(rows: readonly LevelRow[]): readonly (readonly [string, readonly number[]])[] {
  const found = new Map<string, number[]>();
  for (const { says, level } of rows) if (says) found.set(says, [...(found.get(says) ?? []), level]);
  return [...found];
}

/** Rows of the table, lowest level first; columns are found by their names. */
export function levelRows(field: Field | null): LevelRow[] {
  if (field === null) return [];
  const names = field.columns.length > 0 ? field.columns : LEVEL_COLUMNS;
  const at = Object.fromEntries(LEVEL_COLUMNS.map((name) => [name, names.indexOf(name)])) as Record<LevelColumn, number>;
  return rowsOf(field)
    .map((row, number) => {
      const values = Object.fromEntries(LEVEL_COLUMNS.map((name) => [name, row[at[name]] ?? Number.NaN])) as Record<LevelColumn, number>;
      return { ...values, balanced: number === field.head.balanced, says: field.head.says?.[number] ?? "" };
    })
    .sort((one, other) => one.level - other.level);
}

/** The table of a body among those of all bodies. */
export function tableOfBody(fields: readonly Field[], body: string): Field | null {
  return fields.find(({ head }) => head.body === body) ?? null;
}

/** Number of the row that lies nearest to a level, or -1; levels farther away than half a step have none. */
export function rowNearest(rows: readonly LevelRow[], level: number | undefined): number {
  if (level === undefined || rows.length === 0) return -1;
  const steps = rows.slice(1).map((row, at) => row.level - (rows[at] as LevelRow).level);
  const step = steps.length > 0 ? Math.max(...steps) : Infinity;
  const nearest = rows.reduce((best, row, at) => (Math.abs(row.level - level) < Math.abs((rows[best] as LevelRow).level - level) ? at : best), 0);
  return Math.abs((rows[nearest] as LevelRow).level - level) <= step / 2 + 1e-9 ? nearest : -1;
}
