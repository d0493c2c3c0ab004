/** A bank type from here to here: press the peg where it begins, then the peg where it ends. */

import { say } from "../say";
import { type Answer, type Draft, type Gesture, type Key, type Touch, type World, target } from "./gesture";
import { pegAt } from "./hit";

export class BankFromHere implements Gesture {
  readonly tool = "bank";
  private stretch: NonNullable<Draft["stretch"]> | null = null;

  begin(): Answer {
    this.stretch = null;
    return { says: say("plan.bank.start"), sketch: null, draft: {}, selection: null };
  }

  tap(touch: Touch, world: World): Answer {
    const hit = pegAt(world.job, touch.site, target(touch));
    if (!hit) return { says: say("plan.bank.pressPeg") };
    const { body, ring } = hit.ring;
    const goesOn = this.stretch?.start !== undefined && this.stretch.end === undefined;
    if (goesOn && this.stretch?.body === body && this.stretch.ring === ring && this.stretch.start !== hit.peg) {
      this.stretch = { ...this.stretch, end: hit.peg };
      return { draft: { stretch: this.stretch }, says: say("plan.bank.type") };
    }
    this.stretch = { body, ring, start: hit.peg };
    return { draft: { stretch: this.stretch }, says: say("plan.bank.end", { id: hit.peg }) };
  }

  key(_key: Key): null {
    return null;
  }

  cancel(): Answer {
    return this.begin();
  }
}
