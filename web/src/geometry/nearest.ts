/** Nearest place on a curve or a line, for inserting pegs and for pointing at the shore. */

import { type Span, pointOn } from "./curve";
import type { SitePoint } from "./types";

export interface OnCurve {
  /** Number of the peg at which the span begins. */
  readonly peg: number;
  readonly parameter: number;
  readonly point: SitePoint;
  readonly distance: number;
}

const STEPS = 16;
const REFINEMENTS = 30;

/** Nearest place on the spans of a curve, or null when there are none. */
export function nearestOnCurve(spans: readonly Span[], [east, north]: SitePoint): OnCurve | null {
  let best: OnCurve | null = null;
  for (const span of spans) {
    const distanceAt = (u: number): number => {
      const [x, y] = pointOn(span, u);
      return Math.hypot(x - east, y - north);
    };
    const start = coarse(distanceAt);
    const parameter = refined(distanceAt, Math.max(0, start - 1 / STEPS), Math.min(1, start + 1 / STEPS));
    const distance = distanceAt(parameter);
    if (best === null || distance < best.distance) {
      best = { peg: span.peg, parameter, point: pointOn(span, parameter), distance };
    }
  }
  return best;
}

function coarse(distanceAt: (u: number) => number): number {
  let best = 0;
  for (let step = 1; step <= STEPS; step += 1) {
    if (distanceAt(step / STEPS) < distanceAt(best)) best = step / STEPS;
  }
  return best;
}

/** Golden section search: the distance has one low point between the neighbours of the best step. */
function refined(distanceAt: (u: number) => number, low: number, high: number): number {
  const golden = (Math.sqrt(5) - 1) / 2;
  let [left, right] = [low, high];
  for (let turn = 0; turn < REFINEMENTS; turn += 1) {
    const one = right - golden * (right - left);
    const other = left + golden * (right - left);
    if (distanceAt(one) <= distanceAt(other)) right = other;
    else left = one;
  }
  const middle = (left + right) / 2;
  return [low, middle, high].reduce((best, u) => (distanceAt(u) < distanceAt(best) ? u : best), middle);
}
