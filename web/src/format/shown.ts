/** Numbers as this browser shows them: in its units, heights as elevations or from the water line. */

import { heights, units } from "../state/settings";
import { writeNumber } from "./numbers";
import { format, formatChange, isKind } from "./units";

/** Text of a value of a kind that the server names. */
export function shown(value: number | null | undefined, kind: string, waterLine: number | null = null): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  if (!isKind(kind)) return String(value);
  const relativeTo = kind === "elevation" && heights.value === "water" ? waterLine : null;
  return format(value, kind, units.value, { relativeTo });
}

/** Text of a figure with its words: what is called a share is told in percent. */
export function shownFigure(value: number | null | undefined, kind: string, says: string, waterLine: number | null = null): string {
  return kind === "ratio" && says.startsWith("Share") && typeof value === "number" && Number.isFinite(value) ? percent(value) : shown(value, kind, waterLine);
}

/** Text of a share. */
export function percent(share: number): string {
  return `${writeNumber(100 * share, 1, { trimmed: true })} %`;
}

/** Text of a height, always as an elevation. */
export function elevation(value: number): string {
  return format(value, "elevation", units.value);
}

/** Text of a change, with its sign. */
export function shownChange(change: number, kind: string): string {
  return isKind(kind) ? formatChange(change, kind, units.value) : String(change);
}
