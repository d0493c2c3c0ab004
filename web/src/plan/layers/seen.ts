/** The water that is seen from the chosen seat, lined; what is hidden stays as it is. */

import ImageLayer from "ol/layer/Image";
import ImageCanvasSource from "ol/source/ImageCanvas";
import { maskName, maskOf } from "../masks";
import { redraw } from "../redraw";
import { type Shade, shaded } from "../shading";
import { seenTint } from "../tints";
import type { Desk, PlanLayer } from "./layer";

export function seenLayer(desk: Desk): PlanLayer {
  const { session, fields } = desk;
  let shade: Shade | null = null;
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
      const seat = seatInHand(desk);
      const name = maskName(session.shown.value, seat);
      const group = name === null ? null : fields.of(name).value;
      return { seat, group, moving: session.preview.value !== null };
    },
    ({ seat, group, moving }) => {
      const next = seat !== null && group ? maskOf(group, seat) : null;
      shade = next && { ...next, tint: seenTint(), step: moving ? 2 : 1 };
      source.changed();
    },
  );
  return { layer: new ImageLayer({ source }), stop };
}

/** The seat whose view is shown: the chosen one, while its layer is on. */
function seatInHand({ session, shown }: Desk): string | null {
  const selection = session.selection.value;
  return shown.layers.seen.value && selection?.kind === "seat" ? selection.id : null;
}
