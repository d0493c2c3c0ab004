/** Photos under the plan, laid by their ties; one that is not tied yet lies over the middle of the view. */

import LayerGroup from "ol/layer/Group";
import ImageLayer from "ol/layer/Image";
import ImageCanvasSource from "ol/source/ImageCanvas";
import type { Underlay } from "../../api/types";
import { type Placing, laidOver, placingOf } from "../photo";
import { redraw } from "../redraw";
import type { SitePoint } from "../../geometry/types";
import type { Desk, PlanLayer } from "./layer";

export interface Photo {
  readonly image: HTMLImageElement;
  readonly placing: Placing;
}

export interface PhotoLayer extends PlanLayer {
  /** How a photo lies now, or null while it is not there. */
  photo(id: string): Photo | null;
}

const OPACITY = 0.75;

/** `window` gives the middle of the view and how many metres it is wide. */
export function photoLayer(desk: Desk, window: () => { middle: SitePoint; width: number }): PhotoLayer {
  const images = new Map<string, HTMLImageElement>();
  const loose = new Map<string, Placing>();
  const photos = new Map<string, Photo>();
  const group = new LayerGroup({ opacity: OPACITY });
  const draw = (underlays: Readonly<Record<string, Underlay>>, on: boolean): void => {
    photos.clear();
    group.getLayers().clear();
    if (!on) return;
    for (const [id, underlay] of Object.entries(underlays)) {
      const image = loaded(images, underlay.file, () => draw(underlays, on));
      if (image === null) continue;
      const photo = { image, placing: placingOf(underlay.ties ?? []) ?? looseOf(loose, id, image, window()) };
      photos.set(id, photo);
      group.getLayers().push(new ImageLayer({ source: sourceOf(photo) }));
    }
  };
  const stop = redraw(
    () => ({ underlays: desk.session.shown.value?.site.underlays ?? {}, on: desk.shown.layers.photo.value }),
    ({ underlays, on }) => draw(underlays, on),
  );
  return { layer: group, stop, photo: (id) => photos.get(id) ?? null };
}

function looseOf(loose: Map<string, Placing>, id: string, image: HTMLImageElement, { middle, width }: { middle: SitePoint; width: number }): Placing {
  const placing = loose.get(id) ?? laidOver(image.naturalWidth, image.naturalHeight, middle, width * 0.6);
  loose.set(id, placing);
  return placing;
}

function loaded(images: Map<string, HTMLImageElement>, file: string, then: () => void): HTMLImageElement | null {
  const known = images.get(file);
  if (known) return known.complete && known.naturalWidth > 0 ? known : null;
  const image = new Image();
  image.onload = then;
  image.src = `api/files/${encodeURIComponent(file)}`;
  images.set(file, image);
  return null;
}

function sourceOf({ image, placing: { a, b, c, d, e, f } }: Photo): ImageCanvasSource {
  return new ImageCanvasSource({
    ratio: 1.2,
    canvasFunction: (extent, resolution, pixelRatio, size) => {
      const canvas = document.createElement("canvas");
      canvas.width = Math.ceil(size[0] as number);
      canvas.height = Math.ceil(size[1] as number);
      const scale = pixelRatio / resolution;
      const context = canvas.getContext("2d");
      context?.setTransform(scale * a, -scale * b, scale * c, -scale * d, scale * (e - (extent[0] as number)), scale * ((extent[3] as number) - f));
      context?.drawImage(image, 0, 0);
      return canvas;
    },
  });
}
