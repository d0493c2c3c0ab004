/** Draw at most once for each frame of the screen, however often the values change. */

import { effect } from "../state/signal";

/** Read signals at once, draw at the next frame of the screen; returns what stops it. */
export function redraw<T>(read: () => T, draw: (value: T) => void): () => void {
  let newest: T;
  let waiting = 0;
  const stop = effect(() => {
    newest = read();
    if (waiting !== 0) return;
    waiting = requestAnimationFrame(() => {
      waiting = 0;
      draw(newest);
    });
  });
  return () => {
    stop();
    cancelAnimationFrame(waiting);
  };
}
