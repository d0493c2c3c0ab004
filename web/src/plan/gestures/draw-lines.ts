/** Draw the other lines: the section, a measured line, a breakline through shots, a line on site. */

import type { SitePoint } from "../../geometry/types";
import { format } from "../../format/units";
import { pointer } from "../../state/ops";
import { type Signal, signal } from "../../state/signal";
import { shotPoint } from "../places";
import { areaOf, bearing, distance, lengthOf } from "../plane";
import { calledBy, freeId } from "../rings";
import { say } from "../say";
import { type Answer, type Touch, type World, target } from "./gesture";
import { shotAt } from "./hit";
import { Path } from "./path";

const LEAST_PAINT = 3;

export class DrawSection extends Path {
  readonly tool = "section";

  protected instruction(): string {
    return say("plan.draw.section");
  }

  protected override shownSoFar(): Answer {
    return this.places.length < 2 ? {} : { section: [...this.places] };
  }

  protected made(): Answer {
    const selection = { kind: "section", id: "section" } as const;
    return { section: [...this.places], sketch: null, mark: null, selection, done: true, says: say("plan.sectionDrawn") };
  }
}

export class Measure extends Path {
  readonly tool = "measure";

  protected instruction(): string {
    return say("plan.draw.measure");
  }

  protected override told(places: readonly SitePoint[], { units }: World): string {
    const [from, to] = [places.at(-2), places.at(-1)];
    if (!from || !to) return this.instruction();
    const parts = [
      say("plan.measured.leg", { value: format(distance(from, to), "length", units) }),
      say("plan.measured.bearing", { value: format(bearing(from, to), "angle", units) }),
    ];
    if (places.length > 2) {
      parts.push(say("plan.measured.whole", { value: format(lengthOf(places), "length", units) }));
      parts.push(say("plan.measured.area", { value: format(areaOf(places), "area", units) }));
    }
    return parts.join(" · ");
  }

  protected made(world: World): Answer {
    return { says: this.told(this.places, world), sketch: this.sketch(this.places), mark: null };
  }
}

/** What a line through shots is: a break in the ground, or a shore painted on the grass. */
export const throughShots: Signal<"break" | "paint"> = signal<"break" | "paint">("break");

export class DrawBreakline extends Path {
  readonly tool = "breakline";
  private readonly shots: string[] = [];

  override tap(touch: Touch, world: World): Answer {
    const shot = shotAt(world.job, touch.site, target(touch));
    if (shot === null) return { says: say("plan.pressShot") };
    return shot === this.shots.at(-1) && this.shots.length > 1 ? this.finish(world) : this.through(shot, world);
  }

  /** Lead the line on to a shot, pressed or typed. */
  through(shot: string, world: World): Answer {
    const row = world.job.site.shots?.[shot];
    const point = row ? shotPoint(row) : null;
    if (point === null) return { says: say("plan.pressShot") };
    this.shots.push(shot);
    return { ...this.add(point, world), says: say("plan.on.shot", { id: shot }) };
  }

  override finish(world: World): Answer {
    const tooFew = throughShots.value === "paint" && this.shots.length < LEAST_PAINT;
    return tooFew ? { says: say("plan.tooFewPlaces", { least: LEAST_PAINT }) } : super.finish(world);
  }

  override takeBack(world: World): Answer {
    this.shots.pop();
    return super.takeBack(world);
  }

  override cancel(world: World): Answer {
    this.shots.length = 0;
    return super.cancel(world);
  }

  protected instruction(): string {
    return say("plan.draw.breakline");
  }

  protected made(world: World): Answer {
    const kind = throughShots.value;
    const id = freeId(`${kind}_`, Object.keys(world.job.site.lines ?? {}));
    const value = { kind, shots: [...this.shots] };
    this.shots.length = 0;
    const commit = { label: say("plan.label.breakline", { id: calledBy(id) }), ops: [{ op: "add" as const, path: pointer("site", "lines", id), value }] };
    return { commit, sketch: null, mark: null, done: true, says: say("plan.drawn", { id: calledBy(id) }) };
  }
}

/** A line not to cross, a buried service, a pipe: the box beside the plan says which, and keeps it. */
export class DrawBoundary extends Path {
  readonly tool = "boundary";

  protected instruction(): string {
    return say("plan.draw.boundary");
  }

  protected made(): Answer {
    const line = [...this.places];
    return { draft: { line }, sketch: this.sketch(line), mark: null, says: say("plan.nameTheLine") };
  }
}
