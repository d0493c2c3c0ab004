/**
 * The ink of the plan: weights and dashes from the table of symbols that paper uses too, colours from
 * the page's tokens.  Canvas knows no CSS, so a change of the look reads the tokens again.
 */

import Fill from "ol/style/Fill";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import { textHeights } from "ol/render/canvas";
import symbols from "../../../src/pondwright/papers/symbols.json";
import { type Signal, signal } from "../state/signal";

export type LineName = keyof typeof symbols.lines;

interface Symbol {
  readonly words: string;
  readonly px: number;
  readonly dash: readonly number[];
  readonly token: string;
  readonly ink: string;
  readonly letter?: string;
}

const FAMILY = '"Source Sans 3"';
export const FONT = `${FAMILY}, sans-serif`;

/** Counts the changes of the look; a layer that reads it draws anew. */
export const looks: Signal<number> = signal(0);

let colours = new Map<string, string>();

/** Follow the look of the page; returns what stops it. */
export function followLook(): () => void {
  const again = (): void => {
    colours = new Map();
    looks.value += 1;
  };
  const watcher = new MutationObserver(again);
  watcher.observe(document.documentElement, { attributes: true, attributeFilter: ["data-look"] });
  again();
  let isFollowed = true;
  void fontLoaded().then((isNew) => isNew && isFollowed && again());
  return () => {
    isFollowed = false;
    watcher.disconnect();
  };
}

/**
 * Wait for the font of the page; says whether anything may have been drawn without it.
 *
 * A canvas writes in another font until it is there and does not write again by itself, and the map library
 * never recognises a font that comes in all weights: its words would jump at the next change of their layer.
 */
async function fontLoaded(): Promise<boolean> {
  const wanted = `600 12px ${FAMILY}`;
  if (document.fonts.check(wanted)) return false;
  try {
    await document.fonts.load(wanted);
  } catch {
    return false; // Where it cannot be loaded, the other font stays.
  }
  for (const font of Object.keys(textHeights)) delete textHeights[font];
  return true;
}

/** Colour of a token; `otherwise` where the page does not have it. */
export function colour(token: string, otherwise = "#1D2A2E"): string {
  let found = colours.get(token);
  if (found === undefined) {
    found = getComputedStyle(document.documentElement).getPropertyValue(`--${token}`).trim() || otherwise;
    colours.set(token, found);
  }
  return found;
}

/** Red, green and blue of a token, 0 to 255. */
export function rgb(token: string): readonly [number, number, number] {
  const written = colour(token).replace("#", "");
  // A built style sheet writes #ffffff as #fff.
  const hex = written.length === 3 ? written.replace(/./g, "$&$&") : written;
  const part = (at: number): number => Number.parseInt(hex.slice(at, at + 2), 16);
  return [part(0), part(2), part(4)];
}

export function faded(token: string, opacity: number): string {
  const [red, green, blue] = rgb(token);
  return `rgba(${red}, ${green}, ${blue}, ${opacity})`;
}

function symbol(name: LineName): Symbol {
  return symbols.lines[name];
}

/** Colour of a line of the table. */
export function inkOf(name: LineName): string {
  const { token, ink } = symbol(name);
  return colour(token, ink);
}

/** Letter that stands along a line of the table, or nothing. */
export function letterOf(name: LineName): string {
  return symbol(name).letter ?? "";
}

/** Pen of a line of the table. */
export function pen(name: LineName): Stroke {
  const { px, dash, token, ink } = symbol(name);
  return new Stroke({ color: colour(token, ink), width: px, lineDash: dash.map((length) => length * px), lineCap: "butt" });
}

export function line(name: LineName): Style {
  return new Style({ stroke: pen(name) });
}

/** Halo that keeps words readable over lines. */
export function halo(width = 3): Stroke {
  return new Stroke({ color: faded("paper", 0.85), width });
}

export function fill(token: string, opacity = 1): Fill {
  return new Fill({ color: faded(token, opacity) });
}

/** Make something of ink once, and again only when the look has changed. */
export function kept<T>(make: () => T): () => T {
  let held: { readonly look: number; readonly value: T } | null = null;
  return () => {
    if (held?.look !== looks.value) held = { look: looks.value, value: make() };
    return held.value;
  };
}
