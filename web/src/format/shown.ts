/** Numbers as this browser shows them: in its units, heights as elevations or from the water line. */

import { heights, units } from "../state/settings";
import { type Kind, type Style, format, formatChange, isKind } from "./units";

/** Text of a value of a kind that the server names. */
export function shown(value: number | null | undefined, kind: string, path = "", waterLine: number | null = null): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  if (!isKind(kind)) return String(value);
  const relativeTo = kind === "elevation" && heights.value === "water" ? waterLine : null;
  return format(value, kind, units.value, relativeTo === null ? { style: styleOf(kind, path) } : { relativeTo });
}

/** Text of a height, always as an elevation. */
export function elevation(value: number): string {
  return format(value, "elevation", units.value);
}

/** Text of a change, with its sign. */
export function shownChange(change: number, kind: string, path = ""): string {
  if (!isKind(kind)) return String(change);
  const style = styleOf(kind, path);
  if (style === null) return formatChange(change, kind, units.value);
  const text = format(change, kind, units.value, { style });
  return change < 0 ? text : `+${text}`;
}

/** Kind of the soil that is bought, dug and hauled: by the yard and the ton, not by the gallon and the pound. */
function styleOf(kind: Kind, path: string): Style | null {
  const us = units.value !== "metric";
  const isSoil = path.startsWith("earth.");
  if (kind === "volume" && us && isSoil) return { units: ["yd³"], digits: 0 };
  if (kind === "volume" && !us && isSoil) return { units: ["m³"], digits: 0 };
  if (kind === "volume" && us) return { units: ["gal"], digits: 0 };
  if (kind === "mass" && isSoil) return { units: [us ? "short ton" : "t"], digits: 0 };
  return null;
}
