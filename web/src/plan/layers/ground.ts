/** The coloured ground: what is dug and raised, depth, slope, or how well each place is known. */

import ImageLayer from "ol/layer/Image";
import ImageCanvasSource from "ol/source/ImageCanvas";
import type { SitePoint } from "../../geometry/types";
import { linesOf } from "../fields";
import { redraw } from "../redraw";
import { type Shade, shaded } from "../shading";
import { arrayOf } from "../shown-layers";
import { tintOf } from "../tints";
import type { Desk, PlanLayer } from "./layer";

export function groundLayer({ fields, shown, session }: Desk): PlanLayer {
  let shade: Shade | null = null;
  let within: readonly Shore[] | null = null;
  // One canvas is used again and again: a new one for each answer would keep the collector busy in a drag.
  const canvas = document.createElement("canvas");
  const source = new ImageCanvasSource({
    ratio: 1,
    canvasFunction: (extent, resolution, pixelRatio, size) => {
      const [width = 1, height = 1] = size;
      canvas.width = Math.ceil(width);
      canvas.height = Math.ceil(height);
      const corner = [extent[0] as number, extent[3] as number] as const;
      if (shade) shaded(canvas, shade, corner, resolution / pixelRatio, pixelRatio);
      if (shade && within) clip(canvas, within, corner, resolution / pixelRatio);
      return canvas;
    },
  });
  const stop = redraw(
    () => {
      const ground = shown.ground.value;
      const array = arrayOf(ground);
      const lined = ground === "uplift" ? { points: fields.of("lined_points").value, starts: fields.of("lined_starts").value } : null;
      return { ground, kept: array === null ? null : fields.of(array).value, moving: session.preview.value !== null, points: lined?.points ?? null, starts: lined?.starts ?? null };
    },
    ({ ground, kept, moving, points, starts }) => {
      within = ground === "uplift" ? shoresOf(points && starts ? linesOf(points, starts) : [], starts?.head.ids ?? []) : null;
      const next = kept?.grid ? { field: kept.field, grid: kept.grid, tint: tintOf(ground), step: moving ? 2 : 1 } : null;
      if (shade?.field === next?.field && shade?.tint === next?.tint && shade?.step === next?.step) return;
      shade = next;
      source.changed();
    },
  );
  return { layer: new ImageLayer({ source }), stop };
}

/** Rings of one body: its shore and its islands. */
type Shore = readonly (readonly SitePoint[])[];

function shoresOf(rings: readonly (readonly SitePoint[])[], bodies: readonly string[]): Shore[] {
  return [...new Set(bodies)].map((body) => rings.filter((_, at) => bodies[at] === body));
}

/** Keep only what lies inside the shores: liners end there, and not between two nodes of a grid. */
function clip(canvas: HTMLCanvasElement, shores: readonly Shore[], [west, north]: readonly [number, number], metresPerPixel: number): void {
  const pen = canvas.getContext("2d");
  if (pen === null) return;
  const mask = document.createElement("canvas");
  [mask.width, mask.height] = [canvas.width, canvas.height];
  const paint = mask.getContext("2d");
  for (const shore of shores) {
    const path = new Path2D();
    for (const ring of shore) {
      ring.forEach(([east, at], number) => path[number === 0 ? "moveTo" : "lineTo"]((east - west) / metresPerPixel, (north - at) / metresPerPixel));
      path.closePath();
    }
    paint?.fill(path, "evenodd");
  }
  pen.globalCompositeOperation = "destination-in";
  pen.drawImage(mask, 0, 0);
  pen.globalCompositeOperation = "source-over";
}
