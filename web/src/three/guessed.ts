/** Ground that nobody has shot, for the view in the round: its jumps rounded, so that they do not stand as saw teeth. Pure; metres. */

import { type Field, valueOf } from "../api/frame";
import { type Surface, heightNear } from "./terrain";

/** Code of the server for ground that is guessed beyond the shots. */
const GUESSED = 3;
/** Half the width over which a jump is drawn, and how often it is gone over [m, -]. */
const HALF_WIDTH = 1.5;
const TIMES = 3;
/** Half the width over which shot ground runs over into guessed ground [m], and where it is looked at. */
const RUN_OVER = 0.8;
const AROUND = [[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1], [0.7, 0.7], [-0.7, 0.7], [0.7, -0.7], [-0.7, -0.7]] as const;
/** What lies nearer to the old ground than whole centimetres tell was left as it is [m]. */
const LEFT = 0.015;

export interface Guess {
  /** 1 where the ground is guessed. */
  readonly known: Surface;
  /** What the picture adds to the guessed ground. */
  readonly change: Surface;
}

/** How far the ground at a place is guessed, from 0 to 1: it runs over from shot to guessed ground, so that its border is no saw. */
export function guessedShare({ known }: Guess, east: number, north: number): number {
  const guessed = AROUND.filter(([x, y]) => heightNear(known, east + RUN_OVER * x, north + RUN_OVER * y) === GUESSED);
  return guessed.length / AROUND.length;
}

/**
 * Beyond the survey the ground is taken from the nearest place of its border, which jumps where another place comes next.
 * On a grid such a jump becomes a row of teeth; the picture draws it as a slope. What was shot stays as it is.
 */
export function guessOf(ground: Surface, known: Surface): Guess {
  const { columns, rows, spacing } = ground.grid;
  const before = Float32Array.from({ length: columns * rows }, (_, node) => valueOf(ground.field, node));
  const guessed = (node: number): boolean => valueOf(known.field, node) === GUESSED;
  const half = Math.max(1, Math.round(HALF_WIDTH / spacing));
  let heights = before;
  for (let time = 0; time < TIMES; time += 1) {
    const means = meansAlong(meansAlong(heights, rows, columns, columns, 1, half), columns, rows, 1, columns, half);
    heights = heights.map((height, node) => (guessed(node) ? (means[node] as number) : height));
  }
  return { known, change: { field: plain(ground.field, heights.map((height, node) => height - (before[node] as number))), grid: ground.grid } };
}

/** A surface as it is drawn: where it is guessed ground that nobody moves, its jumps are rounded. */
export function rounded(surface: Surface, ground: Surface, { change }: Guess): Surface {
  const { grid, field } = surface;
  const same = grid.columns === change.grid.columns && grid.rows === change.grid.rows && grid.spacing === change.grid.spacing;
  const drawn = new Float32Array(grid.columns * grid.rows);
  for (let node = 0; node < drawn.length; node += 1) {
    const here = valueOf(field, node);
    const [east, north] = [grid.origin_east + (node % grid.columns) * grid.spacing, grid.origin_north + Math.floor(node / grid.columns) * grid.spacing];
    const by = same ? valueOf(change.field, node) : heightNear(change, east, north);
    const isLeft = by !== 0 && Math.abs(here - (same ? valueOf(ground.field, node) : heightNear(ground, east, north))) < LEFT;
    drawn[node] = isLeft ? here + by : here;
  }
  return { field: plain(field, drawn), grid };
}

/** Means over a window along lines of numbers, shorter at their ends but with their middle where it was. */
function meansAlong(values: Float32Array, lines: number, length: number, nextLine: number, next: number, half: number): Float32Array {
  const means = new Float32Array(values.length);
  const sums = new Float64Array(length + 1);
  for (let line = 0; line < lines; line += 1) {
    const first = line * nextLine;
    for (let at = 0; at < length; at += 1) sums[at + 1] = (sums[at] as number) + (values[first + at * next] as number);
    for (let at = 0; at < length; at += 1) {
      const reach = Math.min(half, at, length - 1 - at);
      means[first + at * next] = ((sums[at + reach + 1] as number) - (sums[at - reach] as number)) / (2 * reach + 1);
    }
  }
  return means;
}

function plain(field: Field, data: Float32Array): Field {
  return { ...field, data, scale: 1, zero: 0 };
}
