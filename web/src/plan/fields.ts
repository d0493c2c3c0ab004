/** The newest array of each kind: what does not move in a drag is not sent in it, and the last one holds. */

import type { ArrayHead, Field, FrameGrid } from "../api/frame";
import type { Session } from "../state/session";
import { type ReadonlySignal, type Signal, effect, signal } from "../state/signal";
import type { SitePoint } from "../geometry/types";

export interface Kept {
  readonly field: Field;
  readonly head: ArrayHead & { readonly interval?: number; readonly every?: number; readonly crest?: number; readonly body?: string };
  readonly grid: FrameGrid | null;
}

export class Fields {
  private readonly kept = new Map<string, Signal<Kept | null>>();
  readonly stop: () => void;

  constructor(session: Session) {
    this.stop = effect(() => {
      const frame = session.frame.value;
      if (frame === null) return;
      for (const head of frame.header.arrays) {
        const field = frame.fields[head.name];
        if (field) this.signalOf(head.name).value = { field, head, grid: head.grid ?? frame.header.grid };
      }
    });
  }

  /** Newest array of a name. */
  of(name: string): ReadonlySignal<Kept | null> {
    return this.signalOf(name);
  }

  private signalOf(name: string): Signal<Kept | null> {
    let held = this.kept.get(name);
    if (held === undefined) {
      held = signal<Kept | null>(null);
      this.kept.set(name, held);
    }
    return held;
  }
}

export interface Contours {
  readonly level: number;
  readonly isIndex: boolean;
  readonly line: readonly SitePoint[];
}

/** Lines of the arrays `contours_old` or `contours_new`. */
export function contoursOf(points: Kept, starts: Kept, levels: Kept): Contours[] {
  const { interval = 0, every = 5 } = points.head;
  return Array.from(levels.field.data, (level, at) => {
    const from = starts.field.data[at] ?? 0;
    const to = starts.field.data[at + 1] ?? points.field.data.length / 2;
    const line: SitePoint[] = [];
    for (let point = from; point < to; point += 1) {
      line.push([points.field.data[2 * point] as number, points.field.data[2 * point + 1] as number]);
    }
    return { level, line, isIndex: interval > 0 && Math.round(level / interval) % every === 0 };
  });
}

/** Lines of two arrays: all their points, and where each line starts. */
export function linesOf(points: Kept, starts: Kept): SitePoint[][] {
  return Array.from({ length: Math.max(0, starts.field.data.length - 1) }, (_, at) => {
    const line: SitePoint[] = [];
    for (let point = starts.field.data[at] as number; point < (starts.field.data[at + 1] as number); point += 1) {
      line.push([points.field.data[2 * point] as number, points.field.data[2 * point + 1] as number]);
    }
    return line;
  });
}
