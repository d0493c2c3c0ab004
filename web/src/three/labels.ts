/** Names of the seats over the picture in the round, and which seat lies under a press. */

import { type Spot, topOf } from "./seats";
import type { Projection } from "./scene";

/** A name stands so far over its seat [m], [px]. */
const OVER = 0.15;
const GAP = 4;
/** A name is so high [px], and so in a picture that is low itself. */
const HIGH = 20;
const HIGH_IN_LOW = 16;
const LOW = 260;
/** A press so far beside a seat still means it [px]. */
const NEAR = 24;

interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

interface Placed {
  readonly id: string;
  readonly eye: readonly [x: number, y: number];
  readonly foot: readonly [x: number, y: number];
  readonly box: Box | null;
}

interface Label {
  readonly element: HTMLElement;
  width: number;
}

export class SeatLabels {
  /** What the names stand in; the list of seats beside the picture says the same to those who hear it. */
  readonly element: HTMLElement = document.createElement("div");
  private readonly labels = new Map<string, Label>();
  private placed: readonly Placed[] = [];
  private wasLow = false;

  constructor() {
    this.element.className = "round-labels";
    this.element.setAttribute("aria-hidden", "true");
  }

  /** Put the names where the seats are in the picture; of two that lie on one another the nearer stays. */
  show(spots: readonly Spot[], project: Projection): void {
    for (const [id, { element }] of this.labels) {
      if (spots.some((spot) => spot.id === id)) continue;
      element.remove();
      this.labels.delete(id);
    }
    const { clientWidth: width, clientHeight: height } = this.element;
    const high = height < LOW ? HIGH_IN_LOW : HIGH;
    if (this.element.classList.toggle("low", high !== HIGH) !== this.wasLow) this.measureAgain();
    const kept: Box[] = [];
    this.placed = spots
      .flatMap((spot) => {
        const [eye, foot, over] = [project(spot.eye), project([spot.eye[0], spot.eye[1], spot.foot]), project([spot.eye[0], spot.eye[1], topOf(spot) + OVER])];
        if (!eye || !foot || !over) this.hide(spot.id);
        return eye && foot && over ? [{ spot, eye, foot, over }] : [];
      })
      .sort((one, other) => one.eye.away - other.eye.away)
      .map(({ spot, eye, foot, over }): Placed => {
        const label = this.labelOf(spot);
        // A name near the side of the picture is moved in, so that it is read whole.
        const left = Math.max(0, Math.min(over.x - label.width / 2, width - label.width));
        const box: Box = { left, right: left + label.width, top: over.y - GAP - high, bottom: over.y - GAP };
        const isKept = over.x > 0 && over.x < width && box.top >= 0 && box.bottom <= height && !kept.some((other) => meets(box, other));
        if (isKept) kept.push(box);
        label.element.hidden = !isKept;
        label.element.style.transform = `translate(${Math.round(box.left)}px, ${Math.round(box.top)}px)`;
        return { id: spot.id, eye: [eye.x, eye.y], foot: [foot.x, foot.y], box: isKept ? box : null };
      });
  }

  /** The seat whose body or name lies under a press, the nearer first. */
  at(x: number, y: number): string | null {
    const under = this.placed.find(({ eye, foot, box }) => isIn(box, x, y) || toLine(eye, foot, x, y) <= NEAR);
    return under?.id ?? null;
  }

  private measureAgain(): void {
    this.wasLow = !this.wasLow;
    for (const label of this.labels.values()) {
      label.element.hidden = false;
      label.width = label.element.offsetWidth;
    }
  }

  private hide(id: string): void {
    const label = this.labels.get(id);
    if (label) label.element.hidden = true;
  }

  private labelOf({ id, name }: Spot): Label {
    let label = this.labels.get(id);
    if (!label) {
      label = { element: document.createElement("span"), width: 0 };
      this.labels.set(id, label);
      this.element.append(label.element);
    }
    if (label.element.textContent !== name) {
      label.element.textContent = name;
      label.element.hidden = false;
      label.width = label.element.offsetWidth;
    }
    return label;
  }
}

function meets(one: Box, other: Box): boolean {
  return one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
}

function isIn(box: Box | null, x: number, y: number): boolean {
  return box !== null && x >= box.left && x <= box.right && y >= box.top && y <= box.bottom;
}

/** Distance of a press to the line from the eye of a seat to its foot. */
function toLine(eye: readonly [number, number], foot: readonly [number, number], x: number, y: number): number {
  const [dx, dy] = [foot[0] - eye[0], foot[1] - eye[1]];
  const long = dx * dx + dy * dy;
  const share = long > 0 ? Math.min(Math.max(((x - eye[0]) * dx + (y - eye[1]) * dy) / long, 0), 1) : 0;
  return Math.hypot(x - eye[0] - share * dx, y - eye[1] - share * dy);
}
