/** Stones as simple solids for the view in the round: those that were measured in their sides, courses as stones of their mean size. Pure; metres. */

import type { Job } from "../api/types";
import type { StoneRun } from "../plan/stone-fields";
import { laidAlong, piecesOf, setSides, stonePoint, turnOf } from "../plan/stones";
import type { Corner3 } from "./built";

export interface Solid {
  readonly middle: Corner3;
  /** Direction of its longest side, clockwise from north. [rad] */
  readonly turn: number;
  readonly sides: readonly [along: number, across: number, upright: number];
}

/** Solids of all stones that have a place, and of the courses that the model told. */
export function solidsOf(job: Job, runs: readonly StoneRun[], ground: (east: number, north: number) => number): Solid[] {
  const pieces = Object.values(piecesOf(job)).flatMap((row): Solid[] => {
    const point = stonePoint(row);
    if (!point) return [];
    const sides = setSides(row);
    return [{ middle: [...point, ground(...point) + sides[2] / 2], turn: turnOf(job, row, point), sides }];
  });
  const courses = runs.flatMap((run) => {
    const upright = run.height * run.rows;
    return laidAlong(run).map(({ middle, turn, along, across }): Solid => ({ middle: [...middle, run.foot + upright / 2], turn, sides: [along, across, upright] }));
  });
  return [...pieces, ...courses];
}
