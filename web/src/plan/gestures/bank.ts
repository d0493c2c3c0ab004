/** A bank type or a cover from here to here: press the peg where it begins, then the peg where it ends. */

import { say } from "../say";
import { type Answer, type Draft, type Gesture, type Key, type Touch, type World, target } from "./gesture";
import { pegAt } from "./hit";

export class BankFromHere implements Gesture {
  private stretch: NonNullable<Draft["stretch"]> | null = null;

  constructor(readonly tool: "bank" | "treatment" = "bank") {}

  begin(): Answer {
    this.stretch = null;
    return { says: say(`plan.${this.tool}.start`), sketch: null, draft: {}, selection: null };
  }

  tap(touch: Touch, world: World): Answer {
    const hit = pegAt(world.job, touch.site, target(touch));
    if (!hit) return { says: say(`plan.${this.tool}.pressPeg`) };
    const { body, ring } = hit.ring;
    const goesOn = this.stretch?.start !== undefined && this.stretch.end === undefined;
    if (goesOn && this.stretch?.body === body && this.stretch.ring === ring && this.stretch.start !== hit.peg) {
      this.stretch = { ...this.stretch, end: hit.peg };
      return { draft: { stretch: this.stretch }, says: say(`plan.${this.tool}.type`) };
    }
    this.stretch = { body, ring, start: hit.peg };
    return { draft: { stretch: this.stretch }, says: say(`plan.${this.tool}.end`, { id: hit.peg }) };
  }

  key(_key: Key): null {
    return null;
  }

  cancel(): Answer {
    return this.begin();
  }
}
