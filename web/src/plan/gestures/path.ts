/** Draw a line press by press; Enter or a press on its end finishes it, Backspace takes the last back. */

import type { SitePoint } from "../../geometry/types";
import type { Tool } from "../../state/tool";
import { distance } from "../plane";
import { say } from "../say";
import { type Snapped, reach, snapped } from "../snap";
import { type Answer, type Gesture, type Key, NOTHING, type Sketch, type Touch, type World, target } from "./gesture";

export abstract class Path implements Gesture {
  abstract readonly tool: Tool;
  protected readonly places: SitePoint[] = [];
  protected readonly least: number = 2;
  protected readonly closed: boolean = false;
  protected readonly smooth: boolean = false;

  begin(_world: World): Answer {
    return { says: this.instruction(), sketch: null, draft: null, selection: null };
  }

  tap(touch: Touch, world: World): Answer {
    const end = this.closed ? this.places[0] : this.places.at(-1);
    if (end && this.places.length >= this.least && distance(end, touch.site) <= target(touch)) return this.finish(world);
    const on = this.snap(touch, world);
    return { ...this.add(on?.point ?? touch.site, world), ...(on ? { says: on.says } : {}) };
  }

  hover(touch: Touch, world: World): Answer {
    const on = this.snap(touch, world);
    const place = on?.point ?? touch.site;
    const says = on?.says ?? (this.places.length > 0 ? this.told([...this.places, place], world) : this.instruction());
    return { sketch: this.sketch([...this.places, place]), mark: on?.point ?? null, says };
  }

  key({ key, up }: Key, world: World): Answer | null {
    if (up) return null;
    if (key === "Enter") return this.finish(world);
    if (key !== "Backspace") return null;
    return this.takeBack(world);
  }

  /** Add a place, pressed or typed. */
  add(place: SitePoint, world: World): Answer {
    this.places.push(place);
    return this.grown(world);
  }

  takeBack(world: World): Answer {
    this.places.pop();
    return this.grown(world);
  }

  finish(world: World): Answer {
    if (this.places.length < this.least) return { says: say("plan.tooFewPlaces", { least: this.least }) };
    const answer = this.made(world);
    this.places.length = 0;
    return answer;
  }

  cancel(_world: World): Answer {
    this.places.length = 0;
    return { preview: null, sketch: null, draft: null, mark: null, says: this.instruction() };
  }

  /** What to do, in words. */
  protected abstract instruction(): string;

  /** What the finished line becomes. */
  protected abstract made(world: World): Answer;

  /** What to show of a line that is not finished, apart from its sketch. */
  protected shownSoFar(_world: World): Answer {
    return NOTHING;
  }

  /** What is known of a line in words. */
  protected told(_places: readonly SitePoint[], _world: World): string {
    return this.instruction();
  }

  protected snap(touch: Touch, world: World): Snapped | null {
    return touch.alt ? null : snapped(world.job, touch.site, reach(touch.metresPerPixel, touch.coarse));
  }

  protected sketch(places: readonly SitePoint[]): Sketch | null {
    return places.length === 0 ? null : { places: [...places], closed: this.closed && places.length > 2, smooth: this.smooth };
  }

  private grown(world: World): Answer {
    const says = this.places.length > 0 ? this.told(this.places, world) : this.instruction();
    return { sketch: this.sketch(this.places), mark: null, says, ...this.shownSoFar(world) };
  }
}
