/** The coloured ground: what is dug and raised, depth, slope, or how well each place is known. */

import ImageLayer from "ol/layer/Image";
import ImageCanvasSource from "ol/source/ImageCanvas";
import type { FrameGrid } from "../../api/frame";
import type { Kept } from "../fields";
import { looks } from "../ink";
import { redraw } from "../redraw";
import { type Ground, arrayOf } from "../shown-layers";
import { type Tint, tintOf } from "../tints";
import type { Desk, PlanLayer } from "./layer";

interface Picture {
  readonly canvas: HTMLCanvasElement;
  readonly hatches: readonly { readonly mask: HTMLCanvasElement; readonly tint: Tint["hatches"][number] }[];
  readonly grid: FrameGrid;
}

export function groundLayer({ fields, shown }: Desk): PlanLayer {
  let picture: Picture | null = null;
  const source = new ImageCanvasSource({
    canvasFunction: (extent, resolution, pixelRatio, size) =>
      painted(picture, extent as [number, number, number, number], pixelRatio / resolution, size as [number, number], pixelRatio),
    ratio: 1.2,
  });
  const layer = new ImageLayer({ source });
  const stop = redraw(
    () => {
      void looks.value;
      const ground = shown.ground.value;
      const array = arrayOf(ground);
      return { ground, kept: array === null ? null : fields.of(array).value };
    },
    ({ ground, kept }) => {
      picture = kept?.grid ? pictureOf(ground, kept, kept.grid) : null;
      source.changed();
    },
  );
  return { layer, stop };
}

function pictureOf(ground: Ground, kept: Kept, grid: FrameGrid): Picture {
  const { columns, rows } = grid;
  const tint = tintOf(ground, kept.field.scale, kept.field.zero);
  const colours = new Uint32Array(columns * rows);
  const masks = tint.hatches.map(() => new Uint32Array(columns * rows));
  const { data } = kept.field;
  for (let row = 0; row < rows; row += 1) {
    // Row 0 of the grid is in the south, row 0 of a picture in the north.
    const target = (rows - 1 - row) * columns;
    const source = row * columns;
    for (let column = 0; column < columns; column += 1) {
      const value = data[source + column] as number;
      colours[target + column] = tint.colour(value);
      for (let at = 0; at < masks.length; at += 1) {
        if ((tint.hatches[at] as Tint["hatches"][number]).has(value)) (masks[at] as Uint32Array)[target + column] = 0xff000000;
      }
    }
  }
  return {
    canvas: canvasOf(colours, columns, rows),
    hatches: masks.map((mask, at) => ({ mask: canvasOf(mask, columns, rows), tint: tint.hatches[at] as Tint["hatches"][number] })),
    grid,
  };
}

function canvasOf(pixels: Uint32Array<ArrayBuffer>, width: number, height: number): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  const image = new ImageData(new Uint8ClampedArray(pixels.buffer), width, height);
  canvas.getContext("2d")?.putImageData(image, 0, 0);
  return canvas;
}

/** The picture laid on the window of the plan, with its hatches drawn in pixels of the screen. */
function painted(
  picture: Picture | null,
  [west, , , north]: readonly [number, number, number, number],
  pixelsPerMetre: number,
  [width, height]: readonly [number, number],
  pixelRatio: number,
): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  canvas.width = Math.ceil(width);
  canvas.height = Math.ceil(height);
  const context = canvas.getContext("2d");
  if (picture === null || context === null) return canvas;
  const { grid } = picture;
  const left = (grid.origin_east - grid.spacing / 2 - west) * pixelsPerMetre;
  const top = (north - grid.origin_north - (grid.rows - 0.5) * grid.spacing) * pixelsPerMetre;
  const step = grid.spacing * pixelsPerMetre;
  const box = [left, top, grid.columns * step, grid.rows * step] as const;
  context.drawImage(picture.canvas, ...box);
  for (const { mask, tint } of picture.hatches) {
    const hatched = hatchedMask(mask, box, canvas, tint, pixelRatio, [-west * pixelsPerMetre, north * pixelsPerMetre]);
    if (hatched) context.drawImage(hatched.canvas, hatched.left, hatched.top);
  }
  return canvas;
}

function hatchedMask(
  mask: HTMLCanvasElement,
  [left, top, width, height]: readonly [number, number, number, number],
  window: HTMLCanvasElement,
  tint: Tint["hatches"][number],
  pixelRatio: number,
  zero: readonly [number, number],
): { canvas: HTMLCanvasElement; left: number; top: number } | null {
  const x = Math.max(0, Math.floor(left));
  const y = Math.max(0, Math.floor(top));
  const across = Math.min(window.width, Math.ceil(left + width)) - x;
  const down = Math.min(window.height, Math.ceil(top + height)) - y;
  if (across < 1 || down < 1) return null;
  const canvas = document.createElement("canvas");
  canvas.width = across;
  canvas.height = down;
  const context = canvas.getContext("2d");
  if (context === null) return null;
  context.drawImage(mask, left - x, top - y, width, height);
  context.globalCompositeOperation = "source-in";
  const pattern = context.createPattern(tint.pattern(pixelRatio), "repeat");
  if (pattern === null) return null;
  // The hatch stays on the ground when the window moves.
  pattern.setTransform(new DOMMatrix().translate(zero[0] - x, zero[1] - y));
  context.fillStyle = pattern;
  context.fillRect(0, 0, across, down);
  return { canvas, left: x, top: y };
}
