/** The coloured ground: what is dug and raised, depth, slope, or how well each place is known. */

import ImageLayer from "ol/layer/Image";
import ImageCanvasSource from "ol/source/ImageCanvas";
import { redraw } from "../redraw";
import { type Shade, shaded } from "../shading";
import { arrayOf } from "../shown-layers";
import { tintOf } from "../tints";
import type { Desk, PlanLayer } from "./layer";

export function groundLayer({ fields, shown, session }: Desk): PlanLayer {
  let shade: Shade | null = null;
  // One canvas is used again and again: a new one for each answer would keep the collector busy in a drag.
  const canvas = document.createElement("canvas");
  const source = new ImageCanvasSource({
    ratio: 1,
    canvasFunction: (extent, resolution, pixelRatio, size) => {
      const [width = 1, height = 1] = size;
      canvas.width = Math.ceil(width);
      canvas.height = Math.ceil(height);
      if (shade) shaded(canvas, shade, [extent[0] as number, extent[3] as number], resolution / pixelRatio, pixelRatio);
      return canvas;
    },
  });
  const stop = redraw(
    () => {
      const ground = shown.ground.value;
      const array = arrayOf(ground);
      return { ground, kept: array === null ? null : fields.of(array).value, moving: session.preview.value !== null };
    },
    ({ ground, kept, moving }) => {
      const next = kept?.grid ? { field: kept.field, grid: kept.grid, tint: tintOf(ground), step: moving ? 2 : 1 } : null;
      if (shade?.field === next?.field && shade?.tint === next?.tint && shade?.step === next?.step) return;
      shade = next;
      source.changed();
    },
  );
  return { layer: new ImageLayer({ source }), stop };
}
