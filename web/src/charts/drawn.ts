/** Draw a view once a screen frame at most, whenever something that it read has changed. */

import { effect } from "../state/signal";

/** Run `read`, which follows signals, and then `draw` with its answer at the next screen frame. Returns what stops it. */
export function drawn<T>(read: () => T, draw: (model: T) => void): () => void {
  let model: T;
  let waiting = 0;
  const stop = effect(() => {
    model = read();
    if (waiting) return;
    waiting = window.requestAnimationFrame(() => {
      waiting = 0;
      draw(model);
    });
  });
  return () => {
    stop();
    window.cancelAnimationFrame(waiting);
  };
}

/** An element of our own in a host: what a template has left behind in the host can then not disturb the next one. */
export function rootIn(host: HTMLElement): HTMLElement {
  const root = document.createElement("div");
  root.className = "view-root";
  host.append(root);
  return root;
}

/** Follow the size of an element; returns what stops it. */
export function followSize(element: Element, tell: (width: number, height: number) => void): () => void {
  const observer = new ResizeObserver(([entry]) => {
    if (entry) tell(Math.round(entry.contentRect.width), Math.round(entry.contentRect.height));
  });
  observer.observe(element);
  return () => observer.disconnect();
}
