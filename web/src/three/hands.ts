/** Fingers, mouse and wheel on the picture: pulling, pinching, and pressing without moving. */

/** A finger that moved no farther has pressed [px]. */
const PRESSED = 6;
const WHEEL = 1.0015;

export interface Acts {
  pulled(right: number, down: number): void;
  closer(factor: number): void;
  /** A press at a place of the window. */
  pressed(x: number, y: number): void;
  /** Whether a press there would do something. */
  isOver(x: number, y: number): boolean;
}

export class Hands {
  private readonly fingers = new Map<number, PointerEvent>();
  /** Where a finger went down that has not moved since. */
  private down: readonly [number, number] | null = null;

  constructor(private readonly acts: Acts) {}

  readonly press = (event: PointerEvent): void => {
    (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, event);
    this.down = this.fingers.size === 1 ? [event.clientX, event.clientY] : null;
  };

  readonly move = (event: PointerEvent): void => {
    const before = this.fingers.get(event.pointerId);
    if (!before) {
      (event.currentTarget as HTMLElement).classList.toggle("on-seat", this.acts.isOver(event.clientX, event.clientY));
      return;
    }
    const other = [...this.fingers.values()].find(({ pointerId }) => pointerId !== event.pointerId);
    this.fingers.set(event.pointerId, event);
    if (this.down && Math.hypot(event.clientX - this.down[0], event.clientY - this.down[1]) > PRESSED) this.down = null;
    if (other) this.acts.closer(apart(event, other) / apart(before, other));
    else this.acts.pulled(event.clientX - before.clientX, event.clientY - before.clientY);
  };

  readonly drop = (event: PointerEvent): void => {
    const isPress = event.type === "pointerup" && this.fingers.size === 1 && this.down !== null;
    this.fingers.delete(event.pointerId);
    this.down = null;
    if (isPress) this.acts.pressed(event.clientX, event.clientY);
  };

  readonly wheel = (event: WheelEvent): void => {
    event.preventDefault();
    this.acts.closer(WHEEL ** -event.deltaY);
  };
}

function apart(one: PointerEvent, other: PointerEvent): number {
  return Math.max(Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY), 1);
}
