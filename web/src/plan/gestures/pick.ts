/** Press a place that somebody asked for; where a direction is asked for too, drag from it. */

import type { SitePoint } from "../../geometry/types";
import { format } from "../../format/units";
import { bearing } from "../plane";
import { say } from "../say";
import type { Answer, Gesture, Sketch, Touch, World } from "./gesture";

export class PickPlace implements Gesture {
  readonly tool = "place";
  private start: SitePoint | null = null;

  constructor(private readonly looks: boolean) {}

  begin(): Answer {
    return { says: this.instruction(), sketch: null, selection: null };
  }

  down(touch: Touch): Answer {
    this.start = touch.site;
    return this.looks ? { taken: true } : {};
  }

  drag(touch: Touch, { units }: World): Answer {
    if (this.start === null) return {};
    const angle = bearing(this.start, touch.site);
    return { sketch: this.ray(touch.site), says: say("plan.pick.looks", { angle: format(angle, "angle", units) }) };
  }

  drop(touch: Touch): Answer {
    if (this.start === null) return {};
    const stand = { place: this.start, bearing: bearing(this.start, touch.site) };
    return { draft: { stand }, sketch: this.ray(touch.site), says: say("plan.pick.take") };
  }

  tap(touch: Touch): Answer {
    const sketch = { places: [touch.site], closed: false, smooth: false };
    return { draft: { stand: { place: touch.site, bearing: null } }, sketch, says: say(this.looks ? "plan.pick.drag" : "plan.pick.take") };
  }

  cancel(): Answer {
    this.start = null;
    return { draft: null, sketch: null, says: this.instruction() };
  }

  private ray(tip: SitePoint): Sketch | null {
    return this.start === null ? null : { places: [this.start, tip], closed: false, smooth: false };
  }

  private instruction(): string {
    return say(this.looks ? "plan.pick.stand" : "plan.pick.place");
  }
}
