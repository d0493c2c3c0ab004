/**
 * Units at the edges: read what a person types at a box, and write what a person reads.
 *
 * The twin of `pondwright.base.units`; shared vectors pin both.  No other module of the browser
 * knows a unit.
 */

import type { ShownUnits } from "../api/types";
import { MINUS, withCommas } from "./numbers";
import { type Typed, readValue } from "./unit-reading";
import { type Kind, unitNamed, unitOf } from "./unit-table";
import { type Style, writeValue } from "./unit-writing";

export { NotRead } from "./numbers";
export type { Typed } from "./unit-reading";
export { type Kind, isKind, unitOf } from "./unit-table";
export type { Style } from "./unit-writing";

export interface ParseOptions {
  /** Unit that the box or column states; a bare number takes it. */
  readonly unit?: string | null;
  /** Whether heights that begin with a sign count from the water line without saying `wl`. */
  readonly relative?: boolean;
}

export interface FormatOptions {
  readonly style?: Style | null;
  readonly digits?: number | null;
  /** Water line to count a height from. */
  readonly relativeTo?: number | null;
}

/** Value that a person typed, in the house unit of its kind; throws NotRead with one sentence. */
export function parse(
  text: string,
  kind: Kind,
  shown: ShownUnits | null,
  waterLine: number | null = null,
  { unit = null, relative = false }: ParseOptions = {},
): Typed {
  return readValue({ typed: text, kind, shown, unit, waterLine, relative });
}

/** Text of a value for people, with its unit. */
export function format(
  value: number,
  kind: Kind,
  shown: ShownUnits,
  { style = null, digits = null, relativeTo = null }: FormatOptions = {},
): string {
  if (!Number.isFinite(value)) return "–";
  let chosen = style ?? { ...defaultStyle(kind, shown), relative: relativeTo !== null };
  if (digits !== null) chosen = { ...chosen, digits, denominator: null };
  const write = (one: number, how: Style): string => (shown === "metric" ? writeValue(one, kind, how) : withCommas(writeValue(one, kind, how)));
  if (!chosen.relative || relativeTo === null) return write(value, chosen);
  const text = write(value - relativeTo, chosen);
  return `${text.startsWith(MINUS) ? text : `+${text}`} wl`;
}

/** Text of a difference, always with its sign. */
export function formatChange(change: number, kind: Kind, shown: ShownUnits): string {
  const text = format(change, kind === "elevation" ? "length" : kind, shown);
  return text.startsWith(MINUS) ? text : `+${text}`;
}

/** Number in the first unit that a kind is shown in, for axes of charts. */
export function inShownUnit(value: number, kind: Kind, shown: ShownUnits): number {
  const unit = unitNamed(kind, unitOf(kind, shown));
  return (value - unit.offset) / unit.factor;
}

function defaultStyle(kind: Kind, shown: ShownUnits): Style {
  const unit = unitOf(kind, shown);
  return unit === "ft-in" ? { units: ["ft", "in"], denominator: 16, marks: true } : { units: [unit] };
}
