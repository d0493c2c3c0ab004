/** Water that is seen from a seat beside water that is hidden from it, as a picture laid on the water. Pure. */

import type { FrameGrid, NumberArray } from "../api/frame";
import type { Ink } from "../charts/ink";

export type SeenInk = Pick<Ink, "water" | "paper" | "ink" | "shore">;

type Rgb = readonly [number, number, number];

/** How far the water is seen through where it is seen, and where it is hidden, of 255. */
const SEEN_OPACITY = 205;
const HIDDEN_OPACITY = 215;
/** A hidden water is striped so often, and so thick [m]. */
const STRIPE = 1.5;
const THICK = 0.3;

/** Picture of the water, point by point of the grid: seen water in its colour, hidden water pale and striped. */
export function seenPixels(seen: NumberArray, { columns, rows, spacing }: FrameGrid, ink: SeenInk): Uint8Array {
  const [water, paper, line] = [rgb(ink.water), rgb(ink.paper), rgb(ink.ink)];
  const [every, thick] = [Math.max(3, Math.round(STRIPE / spacing)), Math.max(1, Math.round(THICK / spacing))];
  const pixels = new Uint8Array(4 * columns * rows);
  for (let row = 0; row < rows; row += 1) {
    for (let column = 0; column < columns; column += 1) {
      const [r, g, b] = isSeen(seen, row, column, columns, rows) ? water : (row + column) % every < thick ? line : paper;
      const opacity = isSeen(seen, row, column, columns, rows) ? SEEN_OPACITY : HIDDEN_OPACITY;
      pixels.set([r, g, b, opacity], 4 * (row * columns + column));
    }
  }
  return pixels;
}

/** A node beside seen water counts as seen: the water ends between two nodes. */
function isSeen(seen: NumberArray, row: number, column: number, columns: number, rows: number): boolean {
  for (let up = Math.max(row - 1, 0); up <= Math.min(row + 1, rows - 1); up += 1) {
    for (let across = Math.max(column - 1, 0); across <= Math.min(column + 1, columns - 1); across += 1) {
      if (seen[up * columns + across]) return true;
    }
  }
  return false;
}

/** Red, green and blue of a colour as tokens write it, `#rgb` or `#rrggbb`. */
export function rgb(colour: string): Rgb {
  const hex = colour.replace("#", "");
  const long = hex.length === 3 ? hex.replaceAll(/./g, "$&$&") : hex;
  return [0, 2, 4].map((at) => Number.parseInt(long.slice(at, at + 2), 16) || 0) as unknown as Rgb;
}
