/** Money as people write it: `$40,000`, `40k`, `USD 40000`, `40.000`; a fault is one sentence. */

import { NotRead, writeNumber } from "./numbers";

export interface Money {
  readonly value: number;
  /** What was written beside the number, such as `$` or `USD`; empty where nothing was. */
  readonly currency: string;
}

const MOST = 1e9;
const SIGNS: Readonly<Record<string, string>> = { "€": "EUR", "£": "GBP", "¥": "JPY" };
const TIMES: Readonly<Record<string, number>> = { k: 1e3, thousand: 1e3, m: 1e6, mio: 1e6, mn: 1e6, million: 1e6 };
const FORM = /^(\p{Sc}|[A-Za-z]{0,2}\$|[A-Za-z]{3})?\s*([0-9][0-9.,'’ ]*)\s*(k|thousand|m|mio|mn|million)?\.?\s*(\p{Sc}|[A-Za-z]{0,2}\$|[A-Za-z]{3})?$/iu;

/** Value and currency of a text; throws NotRead. */
export function readMoney(typed: string): Money {
  const text = typed.replaceAll(/[\s\u00a0\u2009\u202f]+/g, " ").trim();
  if (/^[-\u2212]/.test(text)) throw new NotRead(`“${typed.trim()}” is below nothing: write what it may cost, for example 40,000.`);
  const found = FORM.exec(text);
  if (!found || text.length > 80) throw notMoney(typed);
  const [, before = "", number = "", times = "", after = ""] = found;
  if (before !== "" && after !== "" && !sameMoney(before, after)) throw new NotRead(`“${typed.trim()}” names two currencies: write one of them.`);
  const value = amount(number.trim(), times !== "", typed) * (TIMES[times.toLowerCase()] ?? 1);
  if (value > MOST) throw new NotRead(`“${typed.trim()}” is more than a thousand million: is a sign too many in it?`);
  const currency = before || after;
  return { value, currency: /[a-z]{3}/i.test(currency) ? currency.toUpperCase() : currency };
}

/** Whether two ways of writing a currency may be the same money: `$` is the dollar of any country. */
export function sameMoney(one: string, other: string): boolean {
  const [a, b] = [one, other].map((name) => SIGNS[name.trim()] ?? name.trim().toUpperCase()) as [string, string];
  const isDollar = (name: string): boolean => name.endsWith("$") || name.endsWith("D");
  return a === b || ((a === "$" || b === "$") && isDollar(a) && isDollar(b));
}

/** Text of an amount: cents only where there are some. */
export function writeMoney(value: number): string {
  return writeNumber(value, 2, { trimmed: true });
}

/**
 * The number itself.  Money has two decimals at most, so three digits behind a sign are thousands:
 * `40.000` and `40,000` are forty thousand.  Beside `k` or `million` that would be left open, and is asked for again.
 */
function amount(number: string, isShort: boolean, typed: string): number {
  const plain = number.replaceAll(/['’ ]/g, "");
  if (/['’ ]/.test(number) && !/^\d{1,3}(?:['’ ]\d{3})+(?:[.,]\d{1,2})?$/.test(number)) throw notMoney(typed);
  if (/^\d+(?:[.,]\d{0,2})?$/.test(plain)) return Number(plain.replace(",", "."));
  const grouped = /^(\d{1,3}(?:([.,])\d{3})(?:\2\d{3})*)(?:([.,])(\d{1,2}))?$/.exec(plain);
  if (!grouped || isShort || grouped[3] === grouped[2]) throw notMoney(typed);
  return Number(`${(grouped[1] as string).replaceAll(/[.,]/g, "")}.${grouped[4] ?? "0"}`);
}

function notMoney(typed: string): NotRead {
  const text = typed.trim().split(/\s+/).join(" ");
  return new NotRead(`“${text.slice(0, 80)}” is not understood as an amount of money: write for example 40,000, $40,000, 40k or USD 40000.`);
}

