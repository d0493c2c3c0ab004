/** The words of the screen in the language of this browser; English until there are others. */

import { EN } from "./words.en";

export type Word = keyof typeof EN;

/** Language of the catalogue in use, for the `lang` of the page. */
export const LANGUAGE = "en";

/** A word or sentence, with values put in where it says `{name}`. */
export function say(word: Word, values: Readonly<Record<string, string | number>> = {}): string {
  return EN[word].replaceAll(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));
}

/** A sentence of the server for the screen: what it quotes stands in quotation marks. */
export function said(sentence: string): string {
  return sentence.replaceAll(/`([^`]*)`/g, "“$1”");
}

/** A word that the server names, such as a state; itself when the catalogue does not have it. */
export function sayIfKnown(word: string, otherwise: string): string {
  return word in EN ? EN[word as Word] : otherwise;
}
