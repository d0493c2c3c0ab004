/** What the trade tells in a unit of its own, whatever else is shown: sides of a stone as the tape has them, winds as the forecast has them. */

import type { ShownUnits } from "../api/types";
import { type Style, format } from "./units";

export type Trade = "side of a stone" | "wind";

const UNITS: Readonly<Record<Trade, (shown: ShownUnits) => string>> = {
  "side of a stone": (shown) => (shown === "metric" ? "cm" : "in"),
  wind: (shown) => (shown === "metric" ? "km/h" : "mph"),
};
/** Below it a side is of gravel, and told more finely [m]. */
const FINE = 0.1;

/** Unit in which it is told, and which a bare number takes. */
export function tradeUnit(trade: Trade, shown: ShownUnits): string {
  return UNITS[trade](shown);
}

/** Text of a value as the trade tells it. */
export function tradeText(value: number | null | undefined, trade: Trade, shown: ShownUnits): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  return format(value, trade === "wind" ? "speed" : "length", shown, { style: styleOf(value, trade, shown) });
}

function styleOf(value: number, trade: Trade, shown: ShownUnits): Style {
  const own = { units: [tradeUnit(trade, shown)] };
  if (trade === "wind") return { ...own, digits: 0 };
  if (shown === "metric") return { ...own, digits: value < FINE ? 1 : 0 };
  return { ...own, denominator: value < FINE ? 16 : 4 };
}

/** Several values with their unit once, at the end: `20 × 14 × 12 in`. */
export function tradeTexts(values: readonly number[], trade: Trade, shown: ShownUnits, between: string): string {
  const unit = ` ${tradeUnit(trade, shown)}`;
  const texts = values.map((value) => tradeText(value, trade, shown));
  return texts.map((text, at) => (at + 1 < texts.length && text.endsWith(unit) ? text.slice(0, -unit.length) : text)).join(between);
}
