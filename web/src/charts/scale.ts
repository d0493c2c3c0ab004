/** Axes: values to pixels and back, and round steps in the units that are shown. */

import type { ShownUnits } from "../api/types";
import { inShownUnit } from "../format/units";

export type Span = readonly [from: number, to: number];

export interface Scale {
  readonly values: Span;
  readonly pixels: Span;
}

/** Pixel at which a value is drawn. */
export function pixelOf(scale: Scale, value: number): number {
  const [from, to] = scale.values;
  const [start, end] = scale.pixels;
  return start + ((value - from) / (to - from)) * (end - start);
}

/** Value that a pixel stands for. */
export function valueAt(scale: Scale, pixel: number): number {
  const [from, to] = scale.values;
  const [start, end] = scale.pixels;
  return from + ((pixel - start) / (end - start)) * (to - from);
}

/** Pixels of one unit of value, never negative. */
export function pixelsPerUnit({ values, pixels }: Scale): number {
  return Math.abs((pixels[1] - pixels[0]) / (values[1] - values[0]));
}

/** How many times larger heights are drawn than lengths. */
export function exaggeration(across: Scale, up: Scale): number {
  return pixelsPerUnit(up) / pixelsPerUnit(across);
}

/** A factor in words of two figures: 12, 3.5, 1. */
export function shortFactor(factor: number): string {
  return String(Number(factor.toPrecision(2)));
}

const INCH = 0.0254;
// Steps of a tape in feet and inches; above a foot the decimal steps go on.
const TAPE = [1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 2, 3, 6].map((inches) => inches * INCH);

/** Smallest round step of a length that is at least so long, in the units shown [m]. */
export function roundStep(atLeast: number, shown: ShownUnits): number {
  if (shown === "us_inch") {
    const onTape = TAPE.find((step) => step >= atLeast);
    if (onTape !== undefined) return onTape;
  }
  return decimalStep(atLeast, 1 / inShownUnit(1, "length", shown));
}

/** Round values within a span, ascending. */
export function ticks([one, other]: Span, step: number): number[] {
  const [low, high] = [Math.min(one, other), Math.max(one, other)];
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, at) => (first + at) * step);
}

/** Decimals that tell the steps of an axis apart, in the unit shown; none where the unit is split. */
export function tickDigits(step: number, shown: ShownUnits): number {
  if (shown === "us_inch") return 0;
  const inUnit = inShownUnit(step, "length", shown);
  return Math.max(0, Math.min(3, -Math.floor(Math.log10(inUnit) + 1e-9)));
}

/** Span of values with some room around it, and never less than a smallest height. */
export function roomy(values: Iterable<number>, least: number, share = 0.08): Span {
  let low = Infinity;
  let high = -Infinity;
  for (const value of values) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (low > high) return [0, least];
  const missing = Math.max(0, least - (high - low)) / 2;
  const room = share * Math.max(least, high - low);
  return [low - missing - room, high + missing + room];
}

/** Places for labels of one height, as near as may be to where they belong, without lying on each other. */
export function spread(wanted: readonly number[], apart: number): number[] {
  const order = wanted.map((_, at) => at).sort((one, other) => (wanted[one] as number) - (wanted[other] as number));
  const places = [...wanted];
  // Two passes, down and up again, settle the few labels of a picture.
  for (let turn = 0; turn < 4; turn += 1) {
    for (let at = 1; at < order.length; at += 1) {
      const [above, below] = [order[at - 1] as number, order[at] as number];
      const short = apart - ((places[below] as number) - (places[above] as number));
      if (short <= 0) continue;
      places[above] = (places[above] as number) - short / 2;
      places[below] = (places[below] as number) + short / 2;
    }
  }
  return places;
}

function decimalStep(atLeast: number, unit: number): number {
  const wanted = atLeast / unit;
  const power = 10 ** Math.floor(Math.log10(wanted));
  const lead = [1, 2, 5, 10].find((step) => step * power >= wanted * (1 - 1e-9)) ?? 10;
  return lead * power * unit;
}

