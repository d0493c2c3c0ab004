/** Draw at most once for each frame of the screen, however often the values change, and only what changed. */

import { effect } from "../state/signal";
import { looks } from "./ink";

const waiting = new Set<() => void>();
const listeners = new Set<() => void>();
let frame = 0;

/**
 * Read signals at once, draw at the next frame of the screen; returns what stops it.
 *
 * Nothing is drawn when each value that was read is the same as in the last drawing, unless the look
 * of the page has changed.
 */
export function redraw<T extends object>(read: () => T, draw: (value: T) => void): () => void {
  let newest: T;
  let newestLook = -1;
  let drawn: T | null = null;
  let drawnLook = -1;
  const paint = (): void => {
    if (drawn !== null && drawnLook === newestLook && isSame(drawn, newest)) return;
    [drawn, drawnLook] = [newest, newestLook];
    draw(newest);
  };
  const stop = effect(() => {
    newest = read();
    newestLook = looks.value;
    waiting.add(paint);
    if (frame === 0) frame = requestAnimationFrame(paintAll);
  });
  return () => {
    stop();
    waiting.delete(paint);
  };
}

/** Hear when all that waited has been drawn, within the same frame of the screen. */
export function onDrawn(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

function isSame<T extends object>(one: T, other: T): boolean {
  return (Object.keys(other) as (keyof T)[]).every((key) => Object.is(one[key], other[key]));
}

function paintAll(): void {
  frame = 0;
  const all = [...waiting];
  waiting.clear();
  for (const paint of all) paint();
  for (const listener of [...listeners]) listener();
}
