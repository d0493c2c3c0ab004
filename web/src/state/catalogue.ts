/** What every figure is, in words: told once by the server, then kept. */

import { figureCatalogue } from "../api/rest";
import type { FigureInfo } from "../api/types";
import { type Signal, signal } from "./signal";

export const figureInfos: Signal<readonly FigureInfo[]> = signal<readonly FigureInfo[]>([]);

/** Fetch the catalogue, unless it is there. */
export async function fetchCatalogue(): Promise<void> {
  if (figureInfos.value.length > 0) return;
  try {
    figureInfos.value = await figureCatalogue();
  } catch {
    // Without the catalogue figures still show, with their paths in place of words.
  }
}

/** What a figure is, by its path; `*` in the catalogue stands for any one name. */
export function figureInfo(path: string): FigureInfo | undefined {
  const names = path.split(".");
  return figureInfos.value.find((info) => {
    const pattern = info.path.split(".");
    return pattern.length === names.length && pattern.every((part, at) => part === "*" || part === names[at]);
  });
}
