/** Colours and hatches of the ground, so that no meaning hangs on colour alone. */

import { looks, rgb } from "./ink";
import type { Ground } from "./shown-layers";

type Rgb = readonly [number, number, number];

/**
 * Colour of a value in its own unit, as the number that a picture keeps; 0 is nothing.
 * `x` and `y` count pixels, `hatch` is how many of them are from line to line.
 */
export type Tint = (value: number, x: number, y: number, hatch: number) => number;

const SEEN = 0.02; // metres of digging or raising that are worth showing, as on paper
const STRONGEST = 2.0; // metres
const DEEPEST = 2.5; // metres
const LEVEL = 0.05; // rise per run that still looks level
const STEEP = 0.5;
const STEEPEST = 0.8;
const GUESSED = 2.5; // 1 shot, 2 between shots, 3 guessed beyond them
export const SURE = 0.03; // metres: better than this is left plain
export const UNSURE = 0.3; // metres: worse than this is hatched
export const DEEP_MUCK = 1.0; // metres
const OPACITY = 165;
const HATCH_OPACITY = 210;
const ENTRIES = 512;

const MAKERS: Readonly<Record<Ground, () => Tint>> = { moved, depth, slope, known, sure, muck, rise: moved, uplift, plain: () => () => 0 };
const made = new Map<Ground, Tint>();
let madeFor = -1;

/** How a ground is coloured in the look of the page. */
export function tintOf(ground: Ground): Tint {
  if (madeFor !== looks.value) made.clear();
  madeFor = looks.value;
  const tint = made.get(ground) ?? MAKERS[ground]();
  made.set(ground, tint);
  return tint;
}

let seen: { readonly look: number; readonly tint: Tint } | null = null;

/** What is seen from a seat: level lines on the water, as a mirror is drawn. */
export function seenTint(): Tint {
  if (seen?.look === looks.value) return seen.tint;
  const line = packed(rgb("ink"), HATCH_OPACITY);
  const wash = packed(rgb("water"), 120);
  const tint: Tint = (is, _x, y, hatch) => (is < 0.5 ? 0 : remainder(y, Math.max(3, hatch >> 1)) === 0 ? line : wash);
  seen = { look: looks.value, tint };
  return tint;
}

/** Dig is hatched at 45 degrees, raise is dotted. */
function moved(): Tint {
  const digs = ramp([rgb("dig-1"), rgb("dig-2"), rgb("dig-3")]);
  const raises = ramp([rgb("raise-1"), rgb("raise-2"), rgb("raise-3")]);
  const line = packed(rgb("dig-3"), HATCH_OPACITY);
  const dot = packed(rgb("raise-3"), HATCH_OPACITY);
  return (metres, x, y, hatch) => {
    if (metres < -SEEN) return isLine(x, y, hatch) ? line : shareOf(digs, (-metres - SEEN) / STRONGEST);
    if (metres > SEEN) return isDot(x, y, hatch) ? dot : shareOf(raises, (metres - SEEN) / STRONGEST);
    return 0;
  };
}

function depth(): Tint {
  const deep = ramp([mixed(rgb("paper"), rgb("water"), 0.5), rgb("water"), rgb("shore")]);
  return (metres) => (metres < 0.005 ? 0 : shareOf(deep, metres / DEEPEST));
}

/** Slopes as rise per run: up to 1:20 left plain, steeper than 1:2 hatched. */
function slope(): Tint {
  const steep = ramp([mixed(rgb("paper"), rgb("rule"), 0.25), rgb("rule"), rgb("ink")]);
  const line = packed(rgb("ink"), HATCH_OPACITY);
  return (rise, x, y, hatch) => {
    if (rise < LEVEL) return 0;
    return rise > STEEP && isLine(x, y, hatch) ? line : shareOf(steep, (rise - LEVEL) / (STEEPEST - LEVEL));
  };
}

function known(): Tint {
  const between = packed(mixed(rgb("paper"), rgb("rule"), 0.3), 110);
  const guessed = packed(mixed(rgb("paper"), rgb("look"), 0.35), 140);
  const line = packed(rgb("look"), HATCH_OPACITY);
  return (how, x, y, hatch) => {
    if (how > GUESSED) return isLine(x, y, hatch) ? line : guessed;
    return how > 1.5 ? between : 0;
  };
}

/** How sure the height is: plain where it is good, the stronger the less sure, hatched where it is a guess. */
function sure(): Tint {
  const doubt = ramp([mixed(rgb("paper"), rgb("look"), 0.12), mixed(rgb("paper"), rgb("look"), 0.35), mixed(rgb("paper"), rgb("look"), 0.7)]);
  const line = packed(rgb("look"), HATCH_OPACITY);
  return (sigma, x, y, hatch) => {
    if (sigma < SURE) return 0;
    return sigma > UNSURE && isLine(x, y, hatch) ? line : shareOf(doubt, (sigma - SURE) / (UNSURE - SURE));
  };
}

/** Muck is dotted, the thicker the darker. */
function muck(): Tint {
  const thick = ramp([mixed(rgb("paper"), rgb("contour"), 0.25), rgb("contour"), mixed(rgb("contour"), rgb("ink"), 0.6)]);
  const dot = packed(rgb("ink"), HATCH_OPACITY);
  return (metres, x, y, hatch) => {
    if (metres < 0.005) return 0;
    return isDot(x, y, hatch) ? dot : shareOf(thick, metres / DEEP_MUCK);
  };
}

/**
 * Whether a liner holds: up to one as much weight is in hand as is wanted, which is a faint wash; up to two
 * little of it, with lines; beyond two the liner lifts, with crossed lines.
 */
function uplift(): Tint {
  const holds = packed(mixed(rgb("paper"), rgb("good"), 0.35), 150);
  const little = packed(mixed(rgb("paper"), rgb("look"), 0.35), 165);
  const lifts = packed(mixed(rgb("paper"), rgb("stop"), 0.4), 180);
  const thin = packed(rgb("look"), HATCH_OPACITY);
  const crossed = packed(rgb("stop"), HATCH_OPACITY);
  return (push, x, y, hatch) => {
    if (push > 2) return isLine(x, y, hatch) || isLine(x, -y, hatch) ? crossed : lifts;
    if (push > 1) return isLine(x, y, hatch) ? thin : little;
    return holds;
  };
}

function isLine(x: number, y: number, hatch: number): boolean {
  return remainder(x + y, hatch) === 0;
}

function isDot(x: number, y: number, hatch: number): boolean {
  const row = Math.floor(y / hatch);
  const inRow = y - row * hatch;
  const inColumn = remainder(x + (row & 1) * (hatch >> 1), hatch);
  // Where the pixels are coarse, one of them is as large as a dot.
  const size = hatch > 5 ? 2 : 1;
  return inRow < size && inColumn < size;
}

function remainder(value: number, of: number): number {
  return value - of * Math.floor(value / of);
}

function shareOf(table: Uint32Array, share: number): number {
  return table[share >= 1 ? ENTRIES - 1 : share <= 0 ? 0 : (share * ENTRIES) | 0] as number;
}

/** Table from a share 0 to 1 to the colours along a row of them. */
function ramp(colours: readonly [Rgb, Rgb, Rgb]): Uint32Array {
  return Uint32Array.from({ length: ENTRIES }, (_, at) => {
    const along = (at / (ENTRIES - 1)) * 2;
    const [from, to] = along < 1 ? [colours[0], colours[1]] : [colours[1], colours[2]];
    return packed(mixed(from, to, along < 1 ? along : along - 1), OPACITY);
  });
}

function mixed(from: Rgb, to: Rgb, share: number): Rgb {
  const part = (at: 0 | 1 | 2): number => from[at] + (to[at] - from[at]) * share;
  return [part(0), part(1), part(2)];
}

/** Pixels of a picture are kept as alpha, blue, green, red from the high end on. */
function packed([red, green, blue]: Rgb, opacity: number): number {
  return ((opacity << 24) | (Math.round(blue) << 16) | (Math.round(green) << 8) | Math.round(red)) >>> 0;
}
