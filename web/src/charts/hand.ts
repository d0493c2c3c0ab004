/** A hand on a height: drag it, move it by keys, or type it; one drop is one edit. */

import { NotRead, parse } from "../format/units";
import { say } from "../format/words";
import type { Job } from "../api/types";
import type { Op } from "../state/ops";
import type { Session } from "../state/session";
import { heights, units } from "../state/settings";
import { type Signal, batch, signal } from "../state/signal";
import { dragged, freeboardOf, freeboardOps, keyed, levelOf, levelOps } from "./heights";

export interface Grip {
  readonly name: "level" | "freeboard";
  readonly body: string;
}

export interface Held extends Grip {
  readonly start: number;
  readonly value: number;
}

/** A key press waits so long for the next one before it is kept. */
const KEY_REST_MS = 700;

export class HeightHand {
  /** What is being moved, or null. */
  readonly held: Signal<Held | null> = signal<Held | null>(null);
  /** Why the last change could not be made, in one sentence. */
  readonly fault: Signal<string> = signal("");

  private readonly letGo = new AbortController();
  private restTimer = 0;

  constructor(private readonly session: Session) {
    window.addEventListener("keydown", (event) => this.escape(event), { signal: this.letGo.signal, capture: true });
  }

  /** Height of a grip as it is shown now. */
  value({ name, body }: Grip): number | null {
    const { shown, answered, figures } = this.session;
    const job = this.held.value ? shown.value : answered.value;
    return (name === "level" ? levelOf : freeboardOf)(job, figures.value, body);
  }

  /** Take hold with the pointer; the target keeps it until it is let go. */
  press(event: PointerEvent, target: Element, grip: Grip, metresPerPixel: number): void {
    const start = this.value(grip);
    if (start === null || !event.isPrimary || event.button > 0) return;
    event.preventDefault();
    this.keepNow();
    const from = event.clientY;
    const over = new AbortController();
    const { signal: until } = over;
    target.setPointerCapture(event.pointerId);
    this.held.value = { ...grip, start, value: start };
    const move = (next: PointerEvent): void => {
      if (next.pointerId !== event.pointerId) return;
      if (this.held.value === null) return over.abort();
      this.move(dragged(start, from - next.clientY, metresPerPixel, units.value));
    };
    const drop = (): void => {
      over.abort();
      this.keepNow();
    };
    target.addEventListener("pointermove", move as EventListener, { signal: until });
    target.addEventListener("pointerup", drop, { signal: until });
    target.addEventListener("pointercancel", () => { over.abort(); this.cancel(); }, { signal: until });
  }

  /** Move by a key; it is kept when no other key follows. True when the key was one of ours. */
  key(event: KeyboardEvent, grip: Grip): boolean {
    if (event.key === "Enter" && this.held.value) {
      this.keepNow();
      return true;
    }
    const held = this.held.value;
    const now = held?.name === grip.name && held.body === grip.body ? held.value : this.value(grip);
    const next = now === null ? null : keyed(now, event.key, event.shiftKey, units.value);
    if (now === null || next === null) return false;
    event.preventDefault();
    if (!held || held.name !== grip.name || held.body !== grip.body) {
      this.keepNow();
      this.held.value = { ...grip, start: now, value: now };
    }
    this.move(next);
    window.clearTimeout(this.restTimer);
    this.restTimer = window.setTimeout(() => this.keepNow(), KEY_REST_MS);
    return true;
  }

  /** Take what was typed; null when it was taken, else the reason in one sentence. */
  type(text: string, grip: Grip): string | null {
    try {
      const kind = grip.name === "level" ? "elevation" : "length";
      const { value } = parse(text, kind, units.value, this.session.waterLine.value, {
        relative: heights.value === "water",
      });
      if (value !== this.value(grip)) this.set(grip, value);
      return null;
    } catch (fault) {
      if (fault instanceof NotRead) return fault.message;
      throw fault;
    }
  }

  /** Set a height in one step. */
  set(grip: Grip, value: number): void {
    const job = this.session.job.value;
    if (job === null) return;
    this.keep(grip, opsOf(job, grip, value));
  }

  /** Keep what is held, as one edit. */
  keepNow(): void {
    window.clearTimeout(this.restTimer);
    const held = this.held.value;
    const job = this.session.job.value;
    if (held === null || job === null) return;
    if (held.value === held.start) return this.cancel();
    this.held.value = null;
    this.keep(held, opsOf(job, held, held.value));
  }

  /** Let go without a change. */
  cancel(): void {
    window.clearTimeout(this.restTimer);
    batch(() => {
      this.held.value = null;
      this.session.cancel();
    });
  }

  dispose(): void {
    this.letGo.abort();
    this.keepNow();
  }

  private move(value: number): void {
    const held = this.held.value;
    const job = this.session.job.value;
    if (held === null || job === null || value === held.value) return;
    if (held.name === "freeboard" && value < 0) return;
    batch(() => {
      this.held.value = { ...held, value };
      this.session.drag(opsOf(job, held, value));
    });
  }

  private keep(grip: Grip, ops: readonly Op[]): void {
    this.fault.value = "";
    try {
      this.session.commit(say(grip.name === "level" ? "shore.setLevel" : "shore.setFreeboard"), ops);
    } catch (fault) {
      this.session.cancel();
      this.fault.value = (fault as Error).message;
    }
  }

  private escape(event: KeyboardEvent): void {
    if (event.key !== "Escape" || this.held.value === null) return;
    event.preventDefault();
    event.stopPropagation();
    this.cancel();
  }
}

function opsOf(job: Job, grip: Grip, value: number): Op[] {
  return grip.name === "level" ? levelOps(job, grip.body, value) : freeboardOps(job, grip.body, value);
}
