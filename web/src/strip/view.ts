/** The part of a long shore that is in view: zoom and scroll along it. Pure. */

import type { Span } from "../charts/scale";

/** Shortest piece of shore that fills the strip [m]. */
export const CLOSEST = 4;

/** The whole shore. */
export function whole(length: number): Span {
  return [0, length];
}

/** The view enlarged by a factor about a station. */
export function zoomed([from, to]: Span, length: number, factor: number, about: number): Span {
  const width = Math.min(Math.max((to - from) / factor, Math.min(CLOSEST, length)), length);
  const share = to > from ? (about - from) / (to - from) : 0.5;
  return held([about - share * width, about + (1 - share) * width], length);
}

/** The view moved along the shore by metres, as far as the shore goes. */
export function scrolled([from, to]: Span, length: number, by: number): Span {
  return held([from + by, to + by], length);
}

/** The view moved just so far that a station is in it. */
export function showing(view: Span, length: number, station: number): Span {
  const room = 0.1 * (view[1] - view[0]);
  if (station < view[0] + room) return scrolled(view, length, station - room - view[0]);
  if (station > view[1] - room) return scrolled(view, length, station + room - view[1]);
  return view;
}

/** Whether less than the whole shore is in view. */
export function isPart([from, to]: Span, length: number): boolean {
  return to - from < length - 1e-6;
}

function held([from, to]: Span, length: number): Span {
  const width = Math.min(to - from, length);
  const start = Math.min(Math.max(from, 0), length - width);
  return [start, start + width];
}
