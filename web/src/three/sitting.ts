/** Who looks from which seat, and where the head is turned. What was made larger for it is given back afterwards. */

import { belowTall } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import { type Head, headTowards } from "./head";
import type { Sitter } from "./scene";
import type { Spot } from "./seats";

export class Sitting {
  /** The seat from which is looked; none is from outside. */
  readonly seat: Signal<string | null> = signal<string | null>(null);
  head: Head | null = null;
  /** Where it looked first. */
  straight: Head | null = null;
  private tallBefore = belowTall.value;

  sit(seat: string): void {
    if (this.seat.value === null) this.tallBefore = belowTall.value;
    this.head = this.straight = null;
    this.seat.value = seat;
    belowTall.value = "yes";
  }

  stand(): void {
    if (this.seat.value === null) return;
    this.head = this.straight = null;
    this.seat.value = null;
    belowTall.value = this.tallBefore;
  }

  /** Eye and head where the seat is now. A head that nobody has turned goes on looking ahead when its seat is moved. */
  at(spot: Spot): Sitter {
    const straight = headTowards(spot.eye, spot.at);
    const head = this.head === null || this.head === this.straight ? straight : this.head;
    this.head = head;
    this.straight = straight;
    return { eye: spot.eye, head };
  }
}
