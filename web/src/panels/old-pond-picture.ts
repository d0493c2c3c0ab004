/** What the old hole and the new pond hold by level: two curves side by side, or the same as a table. */

import { html, nothing, svg } from "lit";
import { shown } from "../format/shown";
import { say } from "../format/words";
import type { Template } from "./view";

export interface Curve {
  readonly name: string;
  readonly points: readonly { readonly level: number; readonly volume: number }[];
}

const WIDTH = 320;
const HEIGHT = 220;
const LEFT = 64;
const RIGHT = 12;
const TOP = 12;
const BOTTOM = 28;
const ROWS = 8;

/** Volume of a curve at a level; none above its top, nothing below its floor. */
export function volumeAt({ points }: Curve, level: number): number | null {
  const [first, last] = [points[0], points.at(-1)];
  if (!first || !last || level > last.level + 1e-9) return null;
  if (level <= first.level) return 0;
  const at = points.findIndex((point) => point.level >= level);
  const [below, above] = [points[at - 1], points[at]];
  if (!below || !above) return last.volume;
  return below.volume + ((level - below.level) / (above.level - below.level || 1)) * (above.volume - below.volume);
}

export function storagePicture(curves: readonly Curve[], waterLine: number | null, asTable: boolean): Template {
  if (curves.length === 0) return nothing;
  const levels = curves.flatMap(({ points }) => points.map(({ level }) => level));
  const [low, high] = [Math.min(...levels), Math.max(...levels)];
  if (asTable) return table(curves, low, high, waterLine);
  const most = Math.max(...curves.flatMap(({ points }) => points.map(({ volume }) => volume))) || 1;
  const x = (volume: number): string => (LEFT + (volume / most) * (WIDTH - LEFT - RIGHT)).toFixed(1);
  const y = (level: number): string => (HEIGHT - BOTTOM - ((level - low) / (high - low || 1)) * (HEIGHT - TOP - BOTTOM)).toFixed(1);
  const says = curves.map((curve) => say("old.curveSays", { name: curve.name, volume: shown(curve.points.at(-1)?.volume, "volume"), level: shown(curve.points.at(-1)?.level, "elevation", waterLine) })).join(" ");
  return html`<figure class="old-storage">
    <svg viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label=${says}>
      <path class="frame" d="M${LEFT} ${TOP}V${HEIGHT - BOTTOM}H${WIDTH - RIGHT}" />
      ${[low, (low + high) / 2, high].map((level) => svg`<text x=${LEFT - 6} y=${y(level)} text-anchor="end" dominant-baseline="middle">${shown(level, "elevation", waterLine)}</text>`)}
      ${[0, most].map((volume, at) => svg`<text x=${x(volume)} y=${HEIGHT - 8} text-anchor=${at === 0 ? "start" : "end"}>${shown(volume, "volume")}</text>`)}
      ${curves.map(({ points }, at) => svg`<path class="curve-${at}" d=${`M${points.map(({ level, volume }) => `${x(volume)} ${y(level)}`).join("L")}`} />`)}
    </svg>
    <figcaption class="quiet">${curves.map(({ name }, at) => html`<span class="key-${at}">${at === 0 ? "- - -" : "———"} ${name}</span> `)}</figcaption>
  </figure>`;
}

function table(curves: readonly Curve[], low: number, high: number, waterLine: number | null): Template {
  const levels = Array.from({ length: ROWS + 1 }, (_, at) => high - ((high - low) * at) / ROWS);
  return html`<div class="wide"><table class="plain">
    <thead><tr><th scope="col">${say("plan.box.elevation")}</th>${curves.map(({ name }) => html`<th scope="col">${name}</th>`)}</tr></thead>
    <tbody>${levels.map((level) => html`<tr><th scope="row">${shown(level, "elevation", waterLine)}</th>${curves.map((curve) => html`<td>${shown(volumeAt(curve, level), "volume")}</td>`)}</tr>`)}</tbody>
  </table></div>`;
}
