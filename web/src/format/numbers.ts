/** Plain numbers as people write them; the twin of `pondwright.base.numbers`. */

export const MINUS = "\u2212";
export const THIN_SPACE = "\u2009";
export const MOST_DIGITS = 12;

/** Pattern of an unsigned number; what it matches still has to pass `readNumber`. */
export const NUMBER = `(?:(?:[0-9]+(?:[ ]|-))?[0-9]+/[0-9]+|(?:[0-9]+(?:[.,${THIN_SPACE}][0-9]+)*[.,]?|[.,][0-9]+)(?:e[+-]?[0-9]{1,3})?)`;

/** A text that is not what its box asks for; the message is one sentence. */
export class NotRead extends Error {}

export interface ReadNumber {
  readonly value: number;
  readonly text: string;
  readonly digits: number | null;
  readonly denominator: number | null;
}

// How whole numbers and decimals may be set: pattern, sign between thousands, sign before decimals.
const SETTINGS: readonly (readonly [RegExp, string, string])[] = [
  [/^(?:[0-9]+\.?[0-9]*|\.[0-9]+)$/, "", "."],
  [new RegExp(`^[0-9]{1,3}(?:${THIN_SPACE}[0-9]{3})+(?:\\.[0-9]+)?$`), THIN_SPACE, "."],
  [new RegExp(`^[0-9]{1,3}(?:${THIN_SPACE}[0-9]{3})+,[0-9]+$`), THIN_SPACE, ","],
  [/^(?:[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+|[0-9]{1,3}(?:,[0-9]{3}){2,})$/, ",", "."],
  [/^(?:[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+|[0-9]{1,3}(?:\.[0-9]{3}){2,})$/, ".", ","],
  [/^[0-9]*,[0-9]+$/, "", ","],
];
const RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹";

/** Unsigned number in a text, or null; throws NotRead when a comma can be read in two ways. */
export function readNumber(text: string, thousandsComma: boolean): ReadNumber | null {
  const fraction = /^(?:([0-9]+)[ -])?([0-9]+)\/([0-9]+)$/.exec(text);
  if (fraction) return readFraction(fraction[1], fraction[2] as string, fraction[3] as string);
  const decimal = new RegExp(`^([0-9.,${THIN_SPACE}]+)(?:e([+-]?[0-9]+))?$`, "i").exec(text);
  if (!decimal) return null;
  let mantissa = decimal[1] as string;
  if (/^[1-9][0-9]{0,2},[0-9]{3}$/.test(mantissa)) {
    if (!thousandsComma) {
      const [without, point] = [mantissa.replace(",", ""), mantissa.replace(",", ".")];
      throw new NotRead(`“${mantissa}” can be read in two ways: write “${without}” or “${point}”.`);
    }
    mantissa = mantissa.replace(",", "");
  }
  for (const [pattern, thousands, point] of SETTINGS) {
    if (!pattern.test(mantissa)) continue;
    const plain = thousands ? mantissa.replaceAll(thousands, "") : mantissa;
    return readDecimal(plain.replace(point, "."), decimal[2]);
  }
  return null;
}

function readFraction(whole: string | undefined, over: string, under: string): ReadNumber | null {
  const denominator = Number(under);
  if (denominator === 0) return null;
  const text = `${Number(over)}/${denominator}`;
  return {
    value: Number(whole ?? 0) + Number(over) / denominator,
    text: whole ? `${Number(whole)} ${text}` : text,
    digits: null,
    denominator,
  };
}

function readDecimal(plain: string, power: string | undefined): ReadNumber {
  const [whole = "", decimals = ""] = plain.split(".");
  const text = grouped(whole.replace(/^0+/, "") || "0") + (decimals ? `.${decimals}` : "");
  if (power === undefined) return { value: Number(plain), text, digits: decimals.length, denominator: null };
  return { value: Number(`${plain}e${power}`), text: text + powerText(Number(power)), digits: null, denominator: null };
}

export interface Written {
  /** Whether the digits asked for are significant ones; small numbers then get a power of ten. */
  readonly significant?: boolean;
  /** Whether zeros at the end of the decimals are left out. */
  readonly trimmed?: boolean;
}

/** Normal text of a number, rounded half away from zero: true minus, thin space between thousands. */
export function writeNumber(value: number, digits: number, { significant = false, trimmed = false }: Written = {}): string {
  if (!Number.isFinite(value)) throw new NotRead("The number is too large to be written in its unit.");
  const size = Math.abs(value);
  const places = Math.min(digits, MOST_DIGITS);
  let text: string;
  if (size >= 1e15 || (significant && size > 0 && size < 1e-3)) {
    const [mantissa = "", power = ""] = size.toExponential(Math.max(places, 3) - 1).split("e");
    text = mantissa.replace(/\.?0+$/, "") + powerText(Number(power));
  } else {
    const [whole = "", decimals = ""] = rounded(size, significant ? decimalsOf(size, places) : places).split(".");
    const rest = trimmed ? decimals.replace(/0+$/, "") : decimals;
    text = grouped(whole) + (rest ? `.${rest}` : "");
  }
  return value < 0 && /[1-9]/.test(text) ? MINUS + text : text;
}

/** Number rounded half up to some decimals, freed of noise beyond twelve significant digits. */
export function rounded(size: number, digits: number): string {
  return Number(size.toPrecision(MOST_DIGITS)).toFixed(Math.min(digits, 100));
}

function decimalsOf(size: number, significant: number): number {
  return size ? Math.max(0, significant - 1 - Math.floor(Math.log10(size))) : 0;
}

function grouped(whole: string): string {
  return whole.replace(/(?<=[0-9])(?=(?:[0-9]{3})+$)/g, THIN_SPACE);
}

/** Text for people who set a comma between thousands, as in the United States; read back there as the same number. */
export function withCommas(text: string): string {
  return text.replaceAll(THIN_SPACE, ",");
}

function powerText(power: number): string {
  return `×10${[...String(power)].map((sign) => (sign === "-" ? "⁻" : RAISED[Number(sign)])).join("")}`;
}
