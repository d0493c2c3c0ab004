/**
 * Colours each pixel of the plan from a field, between the nodes as well as on them, with hatches in
 * pixels of the screen.  One pass over the pixels is several times as fast as masks and patterns, and
 * edges are as sharp as the ground allows.
 */

import type { Field, FrameGrid } from "../api/frame";
import type { Tint } from "./tints";

export interface Shade {
  readonly field: Field;
  readonly grid: FrameGrid;
  readonly tint: Tint;
  /** Pixels of the screen that share one colour: coarser while something moves. */
  readonly step: number;
}

interface Window {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

const scratch = { canvas: null as HTMLCanvasElement | null, image: null as ImageData | null };

/** Draw a field on a canvas whose upper left corner is at a place of the site. */
export function shaded(target: HTMLCanvasElement, shade: Shade, [west, north]: readonly [number, number], metresPerPixel: number, pixelRatio: number): void {
  const size = metresPerPixel * shade.step;
  const box = windowOf(shade, west, north, size, Math.ceil(target.width / shade.step), Math.ceil(target.height / shade.step));
  if (box === null) return;
  const [width, height] = [box.right - box.left, box.bottom - box.top];
  const image = imageOf(width, height);
  const hatch = Math.max(1, Math.round((8 * pixelRatio) / shade.step));
  paint(new Uint32Array(image.data.buffer), width, height, shade, west + (box.left + 0.5) * size, north - (box.top + 0.5) * size, size, hatch, [
    // The hatch stays on the ground when the plan is moved.
    Math.floor(west / size) + box.left,
    -Math.floor(north / size) + box.top,
  ]);
  const context = target.getContext("2d");
  const canvas = canvasOf(width, height);
  canvas.getContext("2d")?.putImageData(image, 0, 0, 0, 0, width, height);
  if (context === null) return;
  context.imageSmoothingEnabled = false;
  context.drawImage(canvas, 0, 0, width, height, box.left * shade.step, box.top * shade.step, width * shade.step, height * shade.step);
}

function paint(
  pixels: Uint32Array,
  width: number,
  height: number,
  { field, grid, tint }: Shade,
  west: number,
  north: number,
  size: number,
  hatch: number,
  [shiftX, shiftY]: readonly [number, number],
): void {
  const { data, scale, zero } = field;
  const { columns, rows, spacing } = grid;
  const across = size / spacing;
  const firstColumn = (west - grid.origin_east) / spacing;
  for (let y = 0; y < height; y += 1) {
    const rowPlace = (north - y * size - grid.origin_north) / spacing;
    const row = Math.floor(rowPlace);
    const start = y * width;
    if (row < 0 || row >= rows - 1) {
      pixels.fill(0, start, start + width);
      continue;
    }
    const up = rowPlace - row;
    const lower = row * columns;
    const upper = lower + columns;
    let place = firstColumn;
    for (let x = 0; x < width; x += 1, place += across) {
      const column = Math.floor(place);
      if (column < 0 || column >= columns - 1) {
        pixels[start + x] = 0;
        continue;
      }
      const right = place - column;
      const at = lower + column;
      const above = upper + column;
      const low = (data[at] as number) + ((data[at + 1] as number) - (data[at] as number)) * right;
      const high = (data[above] as number) + ((data[above + 1] as number) - (data[above] as number)) * right;
      pixels[start + x] = tint(((high - low) * up + low) * scale + zero, x + shiftX, y + shiftY, hatch);
    }
  }
}

/** Pixels that lie on the grid. */
function windowOf({ grid }: Shade, west: number, north: number, size: number, width: number, height: number): Window | null {
  const left = Math.max(0, Math.floor((grid.origin_east - west) / size));
  const right = Math.min(width, Math.ceil((grid.origin_east + (grid.columns - 1) * grid.spacing - west) / size));
  const top = Math.max(0, Math.floor((north - grid.origin_north - (grid.rows - 1) * grid.spacing) / size));
  const bottom = Math.min(height, Math.ceil((north - grid.origin_north) / size));
  return right > left && bottom > top ? { left, top, right, bottom } : null;
}

function imageOf(width: number, height: number): ImageData {
  const { image } = scratch;
  if (image !== null && image.width === width && image.height === height) return image;
  scratch.image = new ImageData(width, height);
  return scratch.image;
}

function canvasOf(width: number, height: number): HTMLCanvasElement {
  scratch.canvas ??= document.createElement("canvas");
  if (scratch.canvas.width < width) scratch.canvas.width = width;
  if (scratch.canvas.height < height) scratch.canvas.height = height;
  return scratch.canvas;
}
