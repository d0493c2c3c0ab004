/** Tie a photo to the plan: press a place on the photo, then where it truly lies. */

import type { SitePoint } from "../../geometry/types";
import { say } from "../say";
import { reach, snapped } from "../snap";
import type { Answer, Gesture, Key, Touch, World } from "./gesture";

export class TiePhoto implements Gesture {
  readonly tool = "photo";
  private from: SitePoint | null = null;

  begin(): Answer {
    this.from = null;
    return { says: say("plan.tie.from"), sketch: null, draft: {}, selection: null };
  }

  hover(touch: Touch, world: World): Answer {
    if (this.from === null) return { mark: null };
    const on = snapped(world.job, touch.site, reach(touch.metresPerPixel, touch.coarse));
    const sketch = { places: [this.from, on?.point ?? touch.site], closed: false, smooth: false };
    return { sketch, mark: on?.point ?? null, says: on?.says ?? say("plan.tie.to") };
  }

  tap(touch: Touch, world: World): Answer {
    if (this.from === null) {
      this.from = touch.site;
      return { draft: { tie: { from: this.from } }, says: say("plan.tie.to") };
    }
    const on = snapped(world.job, touch.site, reach(touch.metresPerPixel, touch.coarse));
    const tie = { from: this.from, to: on?.point ?? touch.site };
    this.from = null;
    return { draft: { tie }, sketch: null, mark: null, says: on?.says ?? say("plan.tie.kept") };
  }

  key(_key: Key): null {
    return null;
  }

  cancel(): Answer {
    return this.begin();
  }
}
