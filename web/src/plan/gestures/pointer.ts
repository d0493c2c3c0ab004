/** Tells presses from drags, and gives them to the gesture in hand. */

import type { ScreenPoint } from "../../geometry/types";
import { type Answer, type Gesture, NOTHING, type Touch, type World } from "./gesture";

export type PointerEventKind = "down" | "drag" | "up" | "move" | "cancel";

const MOUSE_PX = 4;
const TOUCH_PX = 10;

export class PointerBase {
  private start: ScreenPoint | null = null;
  private moved = false;
  private taken = false;

  constructor(private gesture: Gesture) {}

  /** Whether the pointer is ours: the plan must not pan. */
  get holds(): boolean {
    return this.start !== null && this.taken;
  }

  /** Take another gesture in hand. */
  take(gesture: Gesture): void {
    this.gesture = gesture;
    this.reset();
  }

  feed(kind: PointerEventKind, touch: Touch, world: World): Answer {
    if (kind === "down") return this.down(touch, world);
    if (kind === "drag") return this.drag(touch, world);
    if (kind === "up") return this.up(touch, world);
    if (kind === "cancel") return this.cancel(world);
    return this.gesture.hover?.(touch, world) ?? NOTHING;
  }

  /** Let go of what is held, as Escape and a second finger do. */
  cancel(world: World): Answer {
    const held = this.start !== null;
    this.reset();
    return held ? (this.gesture.cancel?.(world) ?? NOTHING) : NOTHING;
  }

  private down(touch: Touch, world: World): Answer {
    this.start = touch.screen;
    this.moved = false;
    const answer = this.gesture.down?.(touch, world) ?? NOTHING;
    this.taken = answer.taken ?? false;
    return answer;
  }

  private drag(touch: Touch, world: World): Answer {
    if (this.start === null) return NOTHING;
    const [x, y] = this.start;
    const limit = touch.coarse ? TOUCH_PX : MOUSE_PX;
    this.moved ||= Math.hypot(touch.screen[0] - x, touch.screen[1] - y) > limit;
    return this.moved && this.taken ? (this.gesture.drag?.(touch, world) ?? NOTHING) : NOTHING;
  }

  private up(touch: Touch, world: World): Answer {
    if (this.start === null) return NOTHING;
    const { moved, taken } = this;
    this.reset();
    if (!moved) return this.gesture.tap?.(touch, world) ?? NOTHING;
    return taken ? (this.gesture.drop?.(touch, world) ?? NOTHING) : NOTHING;
  }

  private reset(): void {
    this.start = null;
    this.moved = false;
    this.taken = false;
  }
}
