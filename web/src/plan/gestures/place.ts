/** Put a shot, a thing, an outlet, a sump, a pipe through the liner or a patch at a place; the box beside the plan asks the rest and keeps it. */

import type { Tool } from "../../state/tool";
import { say } from "../say";
import { reach, snapped } from "../snap";
import type { Answer, Gesture, Key, Touch, World } from "./gesture";

export class PutDown implements Gesture {
  constructor(readonly tool: Extract<Tool, "shot" | "thing" | "outlet" | "sump" | "penetration" | "patch">) {}

  begin(): Answer {
    return { says: this.instruction(), sketch: null, draft: {}, selection: null };
  }

  hover(touch: Touch, world: World): Answer {
    const on = this.snap(touch, world);
    return { mark: on?.point ?? null, says: on?.says ?? this.instruction() };
  }

  tap(touch: Touch, world: World): Answer {
    const on = this.snap(touch, world);
    return { draft: { point: on?.point ?? touch.site }, mark: null, says: on?.says ?? say("plan.fillTheBox") };
  }

  key(_key: Key): null {
    return null;
  }

  cancel(): Answer {
    return { draft: {}, mark: null, says: this.instruction() };
  }

  private snap(touch: Touch, world: World): ReturnType<typeof snapped> {
    return touch.alt ? null : snapped(world.job, touch.site, reach(touch.metresPerPixel, touch.coarse));
  }

  private instruction(): string {
    return say(`plan.put.${this.tool}`);
  }
}
