/** The table of levels in a frame, and where on it the soil balances. Pure; house units. */

import type { Field } from "../api/frame";
import { rowsOf } from "./fields";

export const LEVEL_COLUMNS = ["level", "dug", "placed", "surplus", "volume", "area", "rim_to_raise"] as const;

export type LevelColumn = (typeof LEVEL_COLUMNS)[number];
export type LevelRow = Readonly<Record<LevelColumn, number>>;

/** Rows of the table, lowest level first; columns are found by their names. */
export function levelRows(field: Field | null): LevelRow[] {
  if (field === null) return [];
  const names = field.columns.length > 0 ? field.columns : LEVEL_COLUMNS;
  const at = Object.fromEntries(LEVEL_COLUMNS.map((name) => [name, names.indexOf(name)])) as Record<LevelColumn, number>;
  return rowsOf(field)
    .map((row) => Object.fromEntries(LEVEL_COLUMNS.map((name) => [name, row[at[name]] ?? Number.NaN])) as LevelRow)
    .sort((one, other) => one.level - other.level);
}

/** Number of the row that lies nearest to a level, or -1; levels farther away than half a step have none. */
export function rowNearest(rows: readonly LevelRow[], level: number | undefined): number {
  if (level === undefined || rows.length === 0) return -1;
  const step = rows.length > 1 ? Math.abs((rows[1] as LevelRow).level - (rows[0] as LevelRow).level) : Infinity;
  const nearest = rows.reduce((best, row, at) => (Math.abs(row.level - level) < Math.abs((rows[best] as LevelRow).level - level) ? at : best), 0);
  return Math.abs((rows[nearest] as LevelRow).level - level) <= step / 2 + 1e-9 ? nearest : -1;
}
