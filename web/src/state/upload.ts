/** Photos on their way to the server: made smaller first where they are very large. */

import { ask } from "../api/rest";

const LARGE = 6 * 1024 * 1024; // bytes
const LONGEST = 2560; // pixels
const QUALITY = 0.88;
const TAKEN_AS_THEY_ARE: ReadonlySet<string> = new Set(["image/jpeg", "image/png"]);

export interface Size {
  readonly width: number;
  readonly height: number;
}

/** Size of a picture whose longer side may be at most `longest`; never larger than it was. */
export function fitted({ width, height }: Size, longest = LONGEST): Size {
  const share = Math.min(1, longest / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * share)), height: Math.max(1, Math.round(height * share)) };
}

/** Whether a file goes as it is. */
export function goesAsItIs({ size, type }: { readonly size: number; readonly type: string }): boolean {
  return size <= LARGE && TAKEN_AS_THEY_ARE.has(type);
}

/** Send a photo; gives the name under which it is kept. */
export async function sendPhoto(job: string, file: Blob): Promise<string> {
  const { hash } = await ask<{ hash: string }>("PUT", `/jobs/${job}/files`, goesAsItIs(file) ? file : await smaller(file));
  return hash;
}

/** The picture as a JPEG of modest size; the file itself where the browser cannot read it, so that the server says what is wrong. */
async function smaller(file: Blob): Promise<Blob> {
  let picture: ImageBitmap;
  try {
    picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch {
    return file;
  }
  const { width, height } = fitted(picture);
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [width, height];
  canvas.getContext("2d")?.drawImage(picture, 0, 0, width, height);
  picture.close();
  const made = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  return made ?? file;
}

/** Address of a kept picture. */
export const pictureOf = (hash: string): string => `api/files/${hash}`;
