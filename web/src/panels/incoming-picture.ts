/** A small picture of the heights in a file, over the shots that the job has. */

import { html, nothing, svg } from "lit";
import type { IncomingFile } from "../api/survey-rest";
import type { Job } from "../api/types";
import { say } from "../format/words";
import { extentOf, shotPoint } from "../plan/places";
import type { SitePoint } from "../geometry/types";
import type { Template } from "./view";

const WIDTH = 320;
const HEIGHT = 200;
const EDGE = 8;
const MOST_SHOTS = 1_000;
const STEPS = 5;

export interface Cell {
  readonly corners: readonly SitePoint[];
  /** Step of its height, from 0 for the lowest. */
  readonly step: number;
}

/** Cells of a picture as they lie in the job. */
export function cellsOf(rows: readonly (readonly (number | null)[])[], [west, south, up]: readonly [SitePoint, SitePoint, SitePoint], lowest: number, highest: number): Cell[] {
  const columns = rows[0]?.length ?? 0;
  const across: SitePoint = [(south[0] - west[0]) / columns, (south[1] - west[1]) / columns];
  const along: SitePoint = [(up[0] - west[0]) / rows.length, (up[1] - west[1]) / rows.length];
  const at = (column: number, row: number): SitePoint => [west[0] + column * across[0] + row * along[0], west[1] + column * across[1] + row * along[1]];
  const range = highest - lowest || 1;
  return rows.flatMap((row, up1) =>
    row.flatMap((height, column): Cell[] => {
      if (height === null) return [];
      const step = Math.min(STEPS - 1, Math.max(0, Math.floor(((height - lowest) / range) * STEPS)));
      return [{ step, corners: [at(column, up1), at(column + 1, up1), at(column + 1, up1 + 1), at(column, up1 + 1)] }];
    }),
  );
}

/** The picture, or a word why there is none. */
export function pictureOf(job: Job, { picture, lowest, highest }: IncomingFile): Template {
  if (picture === null) return nothing;
  if (picture.corners === null) return html`<p class="quiet">${say("incoming.noPlace")}</p>`;
  const corners = picture.corners as readonly [SitePoint, SitePoint, SitePoint];
  const cells = cellsOf(picture.rows, corners, lowest, highest);
  const shots = Object.values(job.site.shots ?? {}).slice(0, MOST_SHOTS).flatMap((shot): SitePoint[] => {
    const point = shotPoint(shot);
    return point ? [point] : [];
  });
  const box = extentOf([...cells.flatMap(({ corners: own }) => own), ...shots]);
  if (box === null) return nothing;
  const scale = Math.min((WIDTH - 2 * EDGE) / Math.max(box[2] - box[0], 1e-9), (HEIGHT - 2 * EDGE) / Math.max(box[3] - box[1], 1e-9));
  const x = (east: number): string => (WIDTH / 2 + (east - (box[0] + box[2]) / 2) * scale).toFixed(1);
  const y = (north: number): string => (HEIGHT / 2 - (north - (box[1] + box[3]) / 2) * scale).toFixed(1);
  // One path for each step of height: a picture of two thousand cells stays a handful of elements.
  const paths = Array.from({ length: STEPS }, (_, step) =>
    cells.filter((cell) => cell.step === step).map(({ corners: own }) => `M${own.map(([east, north]) => `${x(east)} ${y(north)}`).join("L")}z`).join(""),
  );
  return html`<svg class="incoming-picture" viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label=${say("incoming.picture", { count: shots.length })}>
    ${paths.map((path, step) => svg`<path d=${path} class="step-${step}" />`)}
    ${shots.map(([east, north]) => svg`<circle cx=${x(east)} cy=${y(north)} r="1.5" />`)}
  </svg>`;
}
