/** Read what a person types; twin of `pondwright.base.unit_reading`. */

import type { ShownUnits } from "../api/types";
import { MINUS, NUMBER, NotRead, type ReadNumber, readNumber } from "./numbers";
import { type Kind, type Unit, cleaned, examplesOf, measureOf, unitFor, unitNamed, unitOf, wordsOf } from "./unit-table";
import { ONE_IN, PERCENT, QUADRANTS, RUN_PER_RISE, type Style, withUnit } from "./unit-writing";

/** A value in the house unit, the style it was typed in, and the typed text in its normal form. */
export interface Typed {
  readonly value: number;
  readonly style: Style;
  readonly text: string;
}

/** Where a text was typed: all that decides how it is read. */
export interface Box {
  readonly typed: string;
  readonly kind: Kind;
  readonly shown: ShownUnits | null;
  readonly unit: string | null;
  readonly waterLine: number | null;
  readonly relative: boolean;
}

interface Part {
  readonly number: ReadNumber;
  readonly unit: Unit;
}

const LONGEST = 80;
const FINEST_FRACTION = 64;
const V_TO_H = "V:H";
const GRADES: readonly (readonly [string, RegExp])[] = [
  [RUN_PER_RISE, new RegExp(`^(${NUMBER}) ?H? ?: ?(${NUMBER}) ?V?$`, "i")],
  [V_TO_H, new RegExp(`^(${NUMBER}) ?V ?: ?(${NUMBER}) ?H$`, "i")],
  [PERCENT, new RegExp(`^(${NUMBER}) ?(?:%|percent)$`, "i")],
  [ONE_IN, new RegExp(`^1 in (${NUMBER})$`, "i")],
];
const PLAIN = new RegExp(`^${NUMBER}$`, "i");

/** Value, style and normal text of what was typed at a box; throws NotRead. */
export function readValue(box: Box): Typed {
  if (box.typed.length > LONGEST) throw refused(box, `must have at most ${LONGEST} characters`);
  const read = reader(box.kind)(box, cleaned(box.typed));
  if (!Number.isFinite(read.value)) throw refused(box, "is too large");
  return read;
}

function reader(kind: Kind): (box: Box, text: string) => Typed {
  if (kind === "elevation") return readElevation;
  if (kind === "angle") return readAngle;
  if (kind === "slope") return readSlope;
  if (kind === "ratio") return readRatio;
  if (kind === "count") return readCount;
  return readMeasure;
}

/** What is wrong with a text, in one sentence with an example. */
function refused(box: Box, rule = `cannot be read as ${withArticle(box.kind)}`): NotRead {
  const typed = box.typed.length <= LONGEST ? box.typed : `${box.typed.slice(0, LONGEST)}…`;
  return new NotRead(`“${typed.trim().split(/\s+/).join(" ")}” ${rule}: write for example ${examplesOf(box.kind)}.`);
}

function withArticle(name: string): string {
  return /^[aeiou]/.test(name) ? `an ${name}` : `a ${name}`;
}

function inUs(box: Box): boolean {
  return box.shown === "us" || box.shown === "us_inch";
}

function statedUnit(box: Box): string {
  if (box.unit === null && box.shown === null) throw refused(box, "has no unit, and its column states none");
  return box.unit ?? unitOf(box.kind, box.shown ?? "metric");
}

/** Sign and parts, each part a number and a unit that goes into the one before: `3 ft 6 1/2 in`. */
function readMeasure(box: Box, signed: string): Typed {
  const sign = /^[+-]/.exec(signed)?.[0] ?? "";
  const text = sign ? signed.slice(1).trimStart() : signed;
  const parts = partsOf(box, text);
  const [first, last] = [parts[0] as Part, parts.at(-1) as Part];
  const size = parts.reduce((sum, { number, unit }) => sum + number.value * unit.factor, 0);
  const mark = first.unit.mark;
  // Degrees are always written with marks, feet when any mark was typed.
  const marks = mark !== "" && (mark === first.unit.name || text.includes("'") || text.includes('"'));
  const { digits, denominator } = last.number;
  return {
    value: (sign === "-" ? -size : size) + first.unit.offset,
    style: {
      units: parts.map(({ unit }) => unit.name),
      digits,
      denominator: denominator && denominator <= FINEST_FRACTION ? denominator : null,
      marks,
    },
    text: (sign === "-" ? MINUS : "") + parts.map(({ number, unit }) => withUnit(number.text, unit, marks)).join(" "),
  };
}

/** Numbers with their units, the largest first. */
function partsOf(box: Box, text: string): Part[] {
  const pattern = wordsOf(measureOf(box.kind)).part;
  const parts: Part[] = [];
  let at = 0;
  while (at < text.length || parts.length === 0) {
    pattern.lastIndex = at;
    const found = pattern.exec(text);
    const number = found ? readNumber((found[1] as string).toLowerCase(), inUs(box)) : null;
    if (!found || !number) throw refused(box);
    at = pattern.lastIndex;
    const part = { number, unit: unitOfPart(box, found[2], number, parts, at === text.length) };
    const before = parts.at(-1);
    if (before) checkFollows(box, before, part);
    parts.push(part);
    // One space or one hyphen may part them (3'-6"), and none may stand at the end.
    if ([" ", "-"].includes(text[at] ?? "") && at + 1 < text.length) at += 1;
  }
  return parts;
}

/** Unit that a part says, or that goes without saying: after the feet come inches. */
function unitOfPart(box: Box, word: string | undefined, number: ReadNumber, before: readonly Part[], ends: boolean): Unit {
  if (word === undefined) {
    if (!ends) throw refused(box);
    const follows = before.at(-1)?.unit.then;
    return follows ? unitNamed(box.kind, follows) : bareUnit(box, number);
  }
  const words = wordsOf(measureOf(box.kind));
  const unit = unitFor(words, word);
  if (unit) return unit;
  const usOnly = words.usOnly.get(word.toLowerCase());
  if (usOnly && inUs(box)) return usOnly;
  if (usOnly || word === "T") {
    throw refused(box, `leaves open whether “${word}” is “t” (1000 kg) or “short ton” (2000 lb)`);
  }
  throw refused(box);
}

/** Unit of a number typed without one. */
function bareUnit(box: Box, number: ReadNumber): Unit {
  if (box.kind === "ratio" && box.unit === null) return unitNamed(box.kind, "-");
  const stated = statedUnit(box);
  if (stated === "ft-in" && number.denominator) throw refused(box, "leaves open whether feet or inches are meant");
  return unitNamed(box.kind, stated);
}

/** Refuse `6.5 ft 2 in` (a broken number before the last), `3 ft 14 in` and `3 ft 5 cm`. */
function checkFollows(box: Box, before: Part, part: Part): void {
  const { unit } = before;
  const fits =
    unit.then === part.unit.name || (unit.then !== "" && unitNamed(box.kind, unit.then).then === part.unit.name);
  if (!fits || before.number.digits !== 0) throw refused(box);
  const step = Math.round(unit.factor / part.unit.factor);
  if (part.number.value >= step) throw refused(box, `must have less than ${step} ${part.unit.name} after the ${unit.name}`);
}

/** A level, or a height from the water line: `+2 in wl`, `wl - 6 in`, `wl`. */
function readElevation(box: Box, text: string): Typed {
  const spaced = text.replaceAll(/ ?\bwl\b ?/gi, " wl ").trim();
  const found = /^(?:wl ([+-].*)|([+-].*) wl|(wl))$/i.exec(spaced);
  if (!found && !(box.relative && /^[+-]/.test(text))) return readMeasure(box, text);
  if (box.waterLine === null) throw refused(box, "counts from the water line, which has no level yet");
  const atLine = `+0 ${unitNamed(box.kind, unitOf(box.kind, box.shown ?? "metric")).name}`;
  const height = readMeasure(box, found ? (found[1] ?? found[2] ?? atLine) : text);
  const signed = height.text.startsWith(MINUS) ? height.text : `+${height.text}`;
  return { value: box.waterLine + height.value, style: { ...height.style, relative: true }, text: `${signed} wl` };
}

/** An angle, or a quadrant bearing (`N 37° 30' E`) as the angle clockwise from north. */
function readAngle(box: Box, text: string): Typed {
  const found = /^([NS]) ?(.+?) ?([EW])$/i.exec(text);
  if (!found) return readMeasure(box, text);
  const quadrant = `${found[1]}${found[3]}`.toUpperCase() as keyof typeof QUADRANTS;
  const turn = readMeasure({ ...box, unit: "°" }, found[2] as string);
  if (turn.value < 0 || turn.value > Math.PI / 2) throw refused(box, "must turn between 0° and 90° from north or south");
  const [base, sign] = QUADRANTS[quadrant];
  return {
    value: base * Math.PI + sign * turn.value,
    style: { ...turn.style, bearing: true },
    text: `${quadrant[0]} ${turn.text} ${quadrant[1]}`,
  };
}

/** Run per rise, from `3:1` (run:rise), `1V:3H`, `2 %` or `1 in 50`. */
function readSlope(box: Box, typed: string): Typed {
  let text = typed;
  if (PLAIN.test(text)) {
    const forms: Record<string, string> = { [RUN_PER_RISE]: `${text}:1`, [PERCENT]: `${text} %`, [ONE_IN]: `1 in ${text}` };
    text = forms[statedUnit(box)] ?? "";
  }
  for (const [form, pattern] of GRADES) {
    const found = pattern.exec(text);
    if (!found) continue;
    const numbers = found.slice(1).map((group) => readNumber(group.toLowerCase(), inUs(box)));
    return slope(box, form, numbers, /[hv]/i.test(text));
  }
  throw refused(box);
}

function slope(box: Box, form: string, numbers: readonly (ReadNumber | null)[], lettered: boolean): Typed {
  const [first, second] = [numbers[0] ?? null, numbers.at(-1) ?? null];
  if (!first || !second) throw refused(box);
  if (first.value === 0 || second.value === 0) throw refused(box, "has no run per rise");
  if (form === PERCENT) return { value: 100 / first.value, style: { units: [PERCENT], digits: first.digits }, text: `${first.text} %` };
  if (form === ONE_IN) return { value: first.value, style: { units: [ONE_IN], digits: first.digits }, text: `1 in ${first.text}` };
  const [run, rise] = form === V_TO_H ? [second, first] : [first, second];
  if (run.value < rise.value && rise.value !== 1 && !lettered) throw refused(box, "leaves open which side is the run");
  const text = rise.value === 1 ? `${run.text}:1` : `${run.text}H:${rise.text}V`;
  return { value: run.value / rise.value, style: { units: [RUN_PER_RISE], digits: run.digits }, text };
}

/** A plain number, a fraction, a percentage or `1 in 50`. */
function readRatio(box: Box, text: string): Typed {
  const found = new RegExp(`^1 in (${NUMBER})$`, "i").exec(text);
  if (!found) return readMeasure(box, text);
  const number = readNumber((found[1] as string).toLowerCase(), inUs(box));
  if (!number || number.value === 0) throw refused(box);
  return { value: 1 / number.value, style: { units: [ONE_IN], digits: number.digits }, text: `1 in ${number.text}` };
}

/** A whole number. */
function readCount(box: Box, text: string): Typed {
  const number = readNumber(text, inUs(box));
  if (!number) throw refused(box);
  if (!Number.isInteger(number.value)) throw refused(box, "must be a whole number");
  return { value: number.value, style: { units: ["-"], digits: 0 }, text: number.text };
}
