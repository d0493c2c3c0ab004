/** Pieces that the strip and the section are drawn from, as SVG: hatches, axes, a grip on a height. */

import { type SVGTemplateResult, nothing, svg } from "lit";
import { format } from "../format/units";
import { say } from "../format/words";
import { heights, units } from "../state/settings";
import type { Grip, HeightHand } from "./hand";
import { type Scale, pixelOf, pixelsPerUnit, roundStep, tickDigits, ticks } from "./scale";

/** Where a picture lies in its frame [px]. */
export interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** A pixel to a tenth, as text; rounding is many times faster than `toFixed`, and a drag writes ten thousand of them. */
export const pixels = (value: number): string => `${Math.round(value * 10) / 10}`;

/** A line through points given in pixels. */
export function pathOf(points: Iterable<readonly [number, number]>, close = false): string {
  let path = "";
  for (const [x, y] of points) path += `${path ? "L" : "M"}${pixels(x)} ${pixels(y)}`;
  return path && close ? `${path}Z` : path;
}

/** Hatches of dug (lines at 45°), raised (dots), water (lines along the surface) and low spots. */
export function hatches(prefix: string): SVGTemplateResult {
  return svg`<defs>
    <pattern id="${prefix}-dig" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
      <rect class="dig-ground" width="6" height="6" /><line class="dig-hatch" x1="1" x2="1" y2="6" />
    </pattern>
    <pattern id="${prefix}-raise" width="6" height="6" patternUnits="userSpaceOnUse">
      <rect class="raise-ground" width="6" height="6" />
      <circle class="raise-dot" cx="1.5" cy="1.5" r="1" /><circle class="raise-dot" cx="4.5" cy="4.5" r="1" />
    </pattern>
    <pattern id="${prefix}-low" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
      <line class="low-hatch" x1="1" x2="1" y2="7" />
    </pattern>
  </defs>`;
}

/** Text of a height as it is set to be shown: an elevation, or plus and minus from the water line. */
export function heightText(value: number, waterLine: number | null, digits: number | null = null): string {
  return format(value, "elevation", units.value, { relativeTo: heights.value === "water" ? waterLine : null, digits });
}

/** A length along the ground, as finely as a tape is read there: tenths, or whole inches. */
export function stationText(station: number): string {
  return format(station, "length", units.value, { digits: units.value === "us_inch" ? 0 : 1 });
}

/** Heights at the left, with hair lines across. */
export function heightAxis(box: Box, up: Scale, waterLine: number | null): SVGTemplateResult {
  const step = roundStep(24 / pixelsPerUnit(up), units.value);
  const zero = heights.value === "water" ? (waterLine ?? 0) : 0;
  const places = ticks([up.values[0] - zero, up.values[1] - zero], step).map((tick) => tick + zero);
  return svg`<g class="axis" aria-hidden="true">${places.map((value) => {
    const y = pixelOf(up, value);
    return y < box.top || y > box.bottom ? nothing : svg`
      <line class="hair" x1=${box.left} x2=${box.right} y1=${pixels(y)} y2=${pixels(y)} />
      <text x=${box.left - 6} y=${pixels(y + 4)} text-anchor="end">${heightText(value, waterLine, tickDigits(step, units.value))}</text>`;
  })}</g>`;
}

/** Lengths along the bottom. */
export function lengthAxis(box: Box, across: Scale, y: number): SVGTemplateResult {
  const step = roundStep(90 / pixelsPerUnit(across), units.value);
  return svg`<g class="axis" aria-hidden="true">
    <line class="rule" x1=${box.left} x2=${box.right} y1=${y} y2=${y} />
    ${ticks(across.values, step).map((value) => {
      const x = pixelOf(across, value);
      return svg`<line class="rule" x1=${pixels(x)} x2=${pixels(x)} y1=${y} y2=${y + 5} />
        <text x=${pixels(x)} y=${y + 17} text-anchor="middle">${format(value, "length", units.value, { digits: tickDigits(step, units.value) })}</text>`;
    })}</g>`;
}

/** What a grip needs to be drawn. */
export interface ShownGrip {
  readonly grip: Grip;
  readonly name: string;
  readonly text: string;
  /** What stands on the handle. */
  readonly label: string;
  /** Height of the line, and of its label, which may have had to make room [px]. */
  readonly y: number;
  readonly labelY: number;
}

/** A label at the right end of a line, by which the line is taken hold of. */
export function gripHandle(box: Box, width: number, up: Scale, hand: HeightHand, shown: ShownGrip): SVGTemplateResult {
  const { grip, name, text, label, y, labelY } = shown;
  const value = hand.value(grip) ?? 0;
  const held = hand.held.value?.name === grip.name && hand.held.value.body === grip.body;
  return svg`<g class="grip ${grip.name} ${held ? "held" : ""}" tabindex="0" role="slider" aria-orientation="vertical"
      aria-label=${name} aria-valuenow=${value} aria-valuemin=${value - 10} aria-valuemax=${value + 10}
      aria-valuetext=${text} data-testid="grip-${grip.name}"
      @pointerdown=${(event: PointerEvent) => hand.press(event, event.currentTarget as Element, grip, 1 / pixelsPerUnit(up))}
      @keydown=${(event: KeyboardEvent) => hand.key(event, grip)}>
    <title>${say("shore.gripHint", { name })}</title>
    <path class="leader" d="M${box.right} ${pixels(y)}L${box.right + 12} ${pixels(labelY)}" />
    <rect class="plate" x=${box.right + 12} y=${pixels(labelY - 13)} width=${width - box.right - 14} height="26" />
    <path class="arrows" d="M${box.right + 18} ${pixels(labelY - 3)}l4 -6l4 6zM${box.right + 18} ${pixels(labelY + 3)}l4 6l4 -6z" />
    <text x=${box.right + 31} y=${pixels(labelY + 4)}>${label}</text>
  </g>`;
}
