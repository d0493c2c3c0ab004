/** North arrow and scale bar: drawn by the plan itself, for the site's own north and the units shown. */

import { html, svg } from "lit";
import { format } from "../format/units";
import type { ShownUnits } from "../api/types";
import type { Template } from "../panels/view";
import { say } from "./say";

const FOOT = 0.3048;
const LONGEST_PX = 180;
const PARTS = 4;

export interface Bar {
  /** Length in metres, round in the units shown. */
  readonly length: number;
  readonly px: number;
}

/** Longest round length that fits the bar. */
export function barOf(metresPerPixel: number, units: ShownUnits): Bar {
  const unit = units === "metric" ? 1 : FOOT;
  const most = (LONGEST_PX * metresPerPixel) / unit;
  const power = 10 ** Math.floor(Math.log10(most));
  const round = [5, 2, 1].map((digit) => digit * power).find((length) => length <= most * (1 + 1e-9)) ?? power;
  return { length: round * unit, px: (round * unit) / metresPerPixel };
}

/** Text of a round length: whole feet or metres unless it is less than one. */
export function barText(length: number, units: ShownUnits): string {
  const unit = units === "metric" ? 1 : FOOT;
  const digits = Math.max(0, Math.ceil(-Math.log10(length / unit) - 1e-9));
  return format(length, "length", units === "metric" ? "metric" : "us", { digits });
}

export function scaleBar(metresPerPixel: number, units: ShownUnits): Template {
  const { length, px } = barOf(metresPerPixel, units);
  const text = barText(length, units);
  const part = px / PARTS;
  return html`<svg class="scale-bar" width=${px + 90} height="30" role="img" aria-label=${say("plan.scale", { value: text })}>
    <rect class="bar" x="1" y="6" width=${px} height="8"></rect>
    ${Array.from({ length: PARTS / 2 }, (_, at) => svg`<rect class="ink" x=${1 + part * (2 * at + 1)} y="6" width=${part} height="8"></rect>`)}
    <text x="0" y="27">0</text>
    <text x=${px + 6} y="15">${text}</text>
  </svg>`;
}

/** Arrow to true north; `angle` is clockwise from the top of the plan. */
export function northArrow(angle: number): Template {
  const degrees = (angle * 180) / Math.PI;
  return html`<svg class="north" viewBox="-22 -22 44 44" width="44" height="44" role="img" aria-label=${say("plan.northSays", { angle: format(angle, "angle", "metric") })}>
    <g transform="rotate(${degrees})">
      <path class="ink" d="M0 -20 L7 6 L0 1 Z"></path>
      <path class="bar" d="M0 -20 L-7 6 L0 1 Z"></path>
      <line class="stem" x1="0" y1="1" x2="0" y2="10"></line>
      <text x="0" y="20" text-anchor="middle">N</text>
    </g>
  </svg>`;
}
