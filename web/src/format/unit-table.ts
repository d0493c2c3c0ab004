/** The table of units, read from the very files that the server reads; twin of `pondwright.base.unit_table`. */

import shownUnitsTable from "../../../src/pondwright/base/shown_units.csv?raw";
import unitsTable from "../../../src/pondwright/base/units.csv?raw";
import type { ShownUnits } from "../api/types";
import { NUMBER, THIN_SPACE } from "./numbers";
import { rowsOf } from "./csv-rows";

export const KINDS = [
  "ratio", "count", "length", "road length", "elevation", "area", "volume", "soil volume", "slope", "angle", "time", "speed", "road speed", "flow", "mass", "bulk mass",
  "density", "areal mass", "force", "pressure", "power", "energy", "temperature", "concentration",
] as const;

export type Kind = (typeof KINDS)[number];

/** Whether a word from the server names a kind that this table knows. */
export function isKind(word: string): word is Kind {
  return (KINDS as readonly string[]).includes(word);
}

/** One unit: value in the house unit = number × factor + offset. */
export interface Unit {
  readonly name: string;
  readonly kind: string;
  readonly factor: number;
  readonly offset: number;
  readonly digits: number;
  readonly then: string;
  readonly mark: string;
  readonly spellings: readonly string[];
  readonly usSpellings: readonly string[];
}

export interface Words {
  readonly exact: ReadonlyMap<string, Unit>;
  readonly folded: ReadonlyMap<string, Unit>;
  readonly usOnly: ReadonlyMap<string, Unit>;
  readonly marks: ReadonlyMap<string, Unit>;
  /** Number and unit at a place of the text. */
  readonly part: RegExp;
}

const UNITS: readonly Unit[] = rowsOf(unitsTable).map((row) => ({
  name: row["unit"] ?? "",
  kind: row["kind"] ?? "",
  factor: Number(row["factor"]),
  offset: Number(row["offset"]),
  digits: Number(row["digits"]),
  then: row["then"] ?? "",
  mark: row["mark"] ?? "",
  spellings: (row["spellings"] ?? "").split(";").filter(Boolean),
  usSpellings: (row["us_spellings"] ?? "").split(";").filter(Boolean),
}));
const SHOWN = new Map(rowsOf(shownUnitsTable).map((row) => [row["kind"] ?? "", row]));
const wordsByMeasure = new Map<string, Words>();

/** Unit in which a kind is shown, and which a bare number takes; `ft-in` is feet and inches. */
export function unitOf(kind: Kind, shown: ShownUnits): string {
  return SHOWN.get(kind)?.[shown] ?? "";
}

/** What a person might type for a kind, in words. */
export function examplesOf(kind: Kind): string {
  return (SHOWN.get(kind)?.["examples"] ?? "").replaceAll(/`(.*?)`/g, "“$1”");
}

/** Units by the word that they are shown with where it is another; tons are read in US jobs only. */
const CALLED: Readonly<Record<string, string>> = { tons: "short ton", miles: "mile" };

/** Unit of a kind by its name; throws when there is none. */
export function unitNamed(kind: Kind, name: string): Unit {
  const wanted = name === "ft-in" ? "ft" : (CALLED[name] ?? name);
  const found = UNITS.find((unit) => unit.kind === measureOf(kind) && unit.name === wanted);
  if (!found) throw new Error(`${name} is no unit of ${kind}`);
  return name in CALLED ? { ...found, name } : found;
}

const MEASURED_AS: Readonly<Partial<Record<Kind, Kind>>> = {
  elevation: "length",
  "road length": "length",
  "soil volume": "volume",
  "road speed": "speed",
  "bulk mass": "mass",
};

/** Kind whose units a kind is measured in: an elevation is a length, soil is a volume. */
export function measureOf(kind: Kind): string {
  return MEASURED_AS[kind] ?? kind;
}

/** Words of a kind, made when first asked for. */
export function wordsOf(measure: string): Words {
  const known = wordsByMeasure.get(measure);
  if (known) return known;
  const made = makeWords(measure);
  wordsByMeasure.set(measure, made);
  return made;
}

/** Unit that a word means everywhere, if any. */
export function unitFor(words: Words, word: string): Unit | undefined {
  return words.marks.get(word) ?? words.exact.get(word) ?? words.folded.get(word.toLowerCase());
}

function makeWords(measure: string): Words {
  const own = UNITS.filter((unit) => unit.kind === measure && unit.name !== "-");
  const pairs = own.flatMap((unit) => spelled(unit.name).map((text) => [text, unit] as const));
  const exact = new Map(pairs.map(([text, unit]) => [text.replace(/^=/, ""), unit]));
  const folded = new Map(
    pairs.filter(([text]) => !text.startsWith("=")).map(([text, unit]) => [text.toLowerCase(), unit]),
  );
  const usOnly = new Map(own.flatMap((unit) => expanded(unit.usSpellings).map((text) => [text, unit] as const)));
  const marks = new Map(own.filter((unit) => unit.mark).map((unit) => [unit.mark, unit]));
  const longestFirst = [...new Set([...exact.keys(), ...usOnly.keys()])].sort(
    (one, other) => other.length - one.length || (one < other ? -1 : 1),
  );
  const word = longestFirst.map(escaped).join("|");
  const mark = [...marks.keys()].map(escaped).join("");
  // A word ends where no letter or digit follows, so that `5 ft2` is no length; a mark ends anywhere.
  const ended = [...(word ? [`(?:${word})(?![a-z0-9])`] : []), ...(mark ? [`[${mark}](?![a-z])`] : [])].join("|");
  return { exact, folded, usOnly, marks, part: new RegExp(`(${NUMBER})(?:[ ]?(${ended || "(?!)"}))?`, "iy") };
}

/** Every spelling of a unit, the name first; `=` in front of those whose case counts. */
function spelled(name: string): string[] {
  const unit = UNITS.find((one) => one.name === name);
  const plain = cleaned(name);
  const listed = expanded(unit?.spellings ?? []);
  return listed.includes(`=${plain}`) ? listed : [plain, ...listed];
}

/** Spellings with each `{unit}` replaced by every spelling of that unit. */
function expanded(spellings: readonly string[]): string[] {
  return spellings.flatMap((spelling) =>
    spelling
      .split(/\{(.*?)\}/)
      .map((piece, at) => (at % 2 ? spelled(piece) : [piece]))
      .reduce<string[]>((texts, choices) => texts.flatMap((text) => choices.map((choice) => text + choice)), [""]),
  );
}

function escaped(text: string): string {
  return text.replaceAll(/[.*+?^${}()|[\]\\/-]/g, "\\$&");
}

// Spelling.

const SIGNS = new Map<string, string>([
  ...[..."\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d"].map((sign) => [sign, "-"] as const),
  ...[..."′’‘ʹ´`ʼ"].map((sign) => [sign, "'"] as const),
  ...[..."″”“ʺ"].map((sign) => [sign, '"'] as const),
  ...[..."º˚"].map((sign) => [sign, "°"] as const),
  ...[..."µμ"].map((sign) => [sign, "u"] as const),
  ["⁄", "/"], ["∕", "/"], ["℃", "°C"], ["℉", "°F"],
]);
const POWER = /\s*[x×·*]\s*10(?:\^([+-]?[0-9]+)|([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+))/gi;
const RAISED_UNIT = /(?<=[a-z])\s?(?:\^(?=[23])|(?=[²³]))([23²³])/gi;
const THOUSANDS = /(?<=[0-9])[\u2009\u202f\u00a0](?=[0-9]{3}(?![0-9/]))/g;

/** Text in plain signs: one kind of space, minus, prime and fraction; units without raised digits. */
export function cleaned(typed: string): string {
  let text = typed.replaceAll(POWER, (_all, plain?: string, raised?: string) => `e${(plain ?? raised ?? "").normalize("NFKC")}`);
  text = text.replaceAll(RAISED_UNIT, (_all, digit: string) => digit.normalize("NFKC"));
  text = [...text].map(spread).join("");
  text = [...text].map((sign) => SIGNS.get(sign) ?? sign).join("").replaceAll("''", '"');
  text = text.replaceAll(THOUSANDS, "\0");
  text = text.trim().split(/\s+/).join(" ").replaceAll("\0", THIN_SPACE);
  text = text.replaceAll(/(?<=[a-z])\.(?![0-9])/gi, "");
  return text.replaceAll(/ per | ?\/ ?/gi, "/");
}

/** A one-sign fraction spread out, `½` to ` 1/2`; any other sign as it is. */
function spread(sign: string): string {
  const plain = sign.normalize("NFKC");
  return plain !== sign && plain.includes("\u2044") ? ` ${plain}` : sign;
}
