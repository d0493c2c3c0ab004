/** Write values for people: one normal form for each way of writing; twin of `pondwright.base.unit_writing`. */

import { MINUS, MOST_DIGITS, rounded, writeNumber } from "./numbers";
import { type Kind, type Unit, unitNamed } from "./unit-table";

export const RUN_PER_RISE = "H:V";
export const PERCENT = "%";
export const ONE_IN = "1 in";

/** Bearing of a quadrant = start [half turns] + sign × angle from north or south. */
export const QUADRANTS = { NE: [0, 1], SE: [1, -1], SW: [1, 1], NW: [2, -1] } as const;

/** How a value is written: in which units (largest first), and how finely. */
export interface Style {
  readonly units: readonly string[];
  readonly digits?: number | null;
  readonly denominator?: number | null;
  readonly marks?: boolean;
  readonly relative?: boolean;
  readonly bearing?: boolean;
}

/** Text of a finite value in a style, whatever its kind. */
export function writeValue(value: number, kind: Kind, style: Style): string {
  if (kind === "angle") return writeAngle(value, style);
  if (kind === "slope") return writeSlope(value, style);
  if (kind === "ratio") return writeRatio(value, style);
  if (kind === "count") return writeNumber(value, style.digits ?? 0);
  return writeMeasure(value, kind, style);
}

/** Text of a number with its unit, or with the mark of the unit: `3 ft`, `3'`. */
export function withUnit(number: string, unit: Unit, marks: boolean): string {
  if (unit.mark && (marks || unit.mark === unit.name)) return number + unit.mark;
  return unit.name === "-" ? number : `${number} ${unit.name}`;
}

/** A level is read to the millimetre, other lengths are not; a way by road is told roughly. */
const DIGITS: Readonly<Record<string, number>> = { "elevation m": 3, "road length km": 1, "road length miles": 1 };

function writeMeasure(value: number, kind: Kind, style: Style): string {
  const chosen = style.units.map((name) => unitNamed(kind, name));
  const last = chosen.at(-1) as Unit;
  const number = (value - last.offset) / last.factor;
  if ((chosen.length > 1 || style.denominator) && Math.abs(number) < 1e15) return writeParts(number, chosen, style);
  return withUnit(measureText(number, kind, last, style), last, style.marks ?? false);
}

function measureText(number: number, kind: Kind, unit: Unit, style: Style): string {
  if (style.digits !== undefined && style.digits !== null) return writeNumber(number, style.digits);
  if (kind === "speed") return writeNumber(number, 3, { significant: true });
  const digits = DIGITS[`${kind} ${unit.name}`] ?? unit.digits;
  return writeNumber(number, digits, { trimmed: kind === "ratio" });
}

/** Whole numbers of the larger units, and a fraction or decimals of the last. */
function writeParts(number: number, chosen: readonly Unit[], style: Style): string {
  const digits = Math.min(style.digits ?? (chosen.at(-1) as Unit).digits, MOST_DIGITS);
  const steps = style.denominator || 10 ** digits;
  const whole = Number(rounded(Math.abs(number) * steps, 0));
  const rest = whole % steps;
  let left = Math.floor(whole / steps);
  const counts: number[] = [];
  for (let at = chosen.length - 1; at > 0; at -= 1) {
    const step = Math.round((chosen[at - 1] as Unit).factor / (chosen[at] as Unit).factor);
    counts.unshift(left % step);
    left = Math.floor(left / step);
  }
  const above = [left, ...counts];
  const last = above.pop() as number;
  const final = style.denominator ? mixed(last, rest, steps) : writeNumber(last + rest / steps, digits);
  const texts = [...above.map((count) => writeNumber(count, 0)), final];
  // Nothing in the larger units is not written: 6 1/2", not 0' 6 1/2".
  const leading = above.findIndex((count) => count > 0);
  const written = texts.map((text, at) => withUnit(text, chosen[at] as Unit, style.marks ?? false));
  return (number < 0 && whole > 0 ? MINUS : "") + written.slice(leading < 0 ? above.length : leading).join(" ");
}

/** Whole number and fraction in lowest terms: `6 1/2`, `1/2`, `6`. */
function mixed(whole: number, rest: number, steps: number): string {
  if (!rest) return writeNumber(whole, 0);
  const common = greatestCommonDivisor(rest, steps);
  const broken = `${rest / common}/${steps / common}`;
  return whole ? `${writeNumber(whole, 0)} ${broken}` : broken;
}

function greatestCommonDivisor(one: number, other: number): number {
  return other === 0 ? one : greatestCommonDivisor(other, one % other);
}

function writeAngle(value: number, style: Style): string {
  if (!style.bearing) return writeMeasure(value, "angle", style);
  const halfTurns = (((value / Math.PI) % 2) + 2) % 2;
  const quadrant = (["NE", "SE", "SW", "NW"] as const)[Math.min(Math.floor(halfTurns * 2), 3)] ?? "NE";
  const [base, sign] = QUADRANTS[quadrant];
  return `${quadrant[0]} ${writeMeasure(sign * (halfTurns - base) * Math.PI, "angle", style)} ${quadrant[1]}`;
}

function writeSlope(value: number, style: Style): string {
  const form = style.units[0];
  const digits = style.digits ?? 2;
  const written = { trimmed: style.digits === undefined || style.digits === null };
  if (form === PERCENT) return `${writeNumber(100 / value, digits, written)} %`;
  const text = writeNumber(value, digits, written);
  return form === ONE_IN ? `1 in ${text}` : `${text}:1`;
}

function writeRatio(value: number, style: Style): string {
  const oneIn = style.units.length === 1 && style.units[0] === ONE_IN;
  if (oneIn && value) return writeSlope(1 / value, style);
  return writeMeasure(value, "ratio", oneIn ? { units: ["-"] } : style);
}
