/** Draw a new shoreline, or an island in one: each press is a peg. Numbers follow from the third on. */

import type { SitePoint } from "../../geometry/types";
import { type Op, pointer } from "../../state/ops";
import { calledBy, curveThrough, freeId, json } from "../rings";
import { say } from "../say";
import type { Answer, Touch, World } from "./gesture";
import type { Snapped } from "../snap";
import { bodyAt } from "./hit";
import { islandSelection } from "./whole-island";
import { Path } from "./path";

export class DrawShoreline extends Path {
  readonly tool = "shoreline";
  protected override readonly least = 3;
  protected override readonly closed = true;
  protected override readonly smooth = true;

  protected instruction(): string {
    return say("plan.draw.shoreline");
  }

  protected override shownSoFar(world: World): Answer {
    return { preview: this.places.length < 3 ? null : [newBody(world, this.places).op] };
  }

  protected made(world: World): Answer {
    const { id, op } = newBody(world, this.places);
    const commit = { label: say("plan.label.shoreline", { id: calledBy(id) }), ops: [op] };
    return { commit, sketch: null, mark: null, done: true, says: say("plan.drawn", { id: calledBy(id) }) };
  }
}

export class DrawIsland extends Path {
  readonly tool = "island";
  protected override readonly least = 3;
  protected override readonly closed = true;
  protected override readonly smooth = true;
  private body: string | null = null;

  override add(place: SitePoint, world: World): Answer {
    if (this.places.length === 0) this.body = bodyAt(world.job, place);
    if (this.body === null) return { says: say("plan.islandInWater") };
    return super.add(place, world);
  }

  protected instruction(): string {
    return say("plan.draw.island");
  }

  /** An island lies in open water, where there is nothing to lie on. */
  protected override snap(_touch: Touch, _world: World): Snapped | null {
    return null;
  }

  protected override shownSoFar(world: World): Answer {
    if (this.body === null || this.places.length < 3) return { preview: null };
    return { preview: [newIsland(world, this.body, this.places).op] };
  }

  protected made(world: World): Answer {
    if (this.body === null) return {};
    const { id, op } = newIsland(world, this.body, this.places);
    const commit = { label: say("plan.label.island", { id: calledBy(id) }), ops: [op] };
    const ring = { body: this.body, ring: id, curve: curveThrough(this.places), open: false };
    return { commit, sketch: null, mark: null, done: true, selection: islandSelection(ring), says: say("plan.drawn", { id: calledBy(id) }) };
  }
}

function newBody({ job }: World, places: readonly SitePoint[]): { id: string; op: Op } {
  // The preview of this very body may be in the job that is shown; it is laid over, not added to.
  const bodies = Object.entries(job.shape.bodies ?? {});
  const taken = bodies.filter(([, row]) => !isDrawnFrom(row.outline.curve.pegs, places)).map(([id]) => id);
  const id = taken.includes("pond") ? freeId("pond_", ["pond_1", ...taken]) : "pond";
  const outline = { form: "ring", curve: curveThrough(places) };
  return { id, op: { op: "add", path: pointer("shape", "bodies", id), value: json({ rank: taken.length + 1, outline }) } };
}

function newIsland({ job }: World, body: string, places: readonly SitePoint[]): { id: string; op: Op } {
  const islands = Object.entries(job.shape.bodies?.[body]?.islands ?? {});
  const taken = islands.filter(([, curve]) => !isDrawnFrom(curve.pegs, places)).map(([id]) => id);
  const id = freeId("island_", taken);
  return { id, op: { op: "add", path: pointer("shape", "bodies", body, "islands", id), value: json(curveThrough(places)) } };
}

function isDrawnFrom(pegs: readonly { readonly east: number; readonly north: number }[], places: readonly SitePoint[]): boolean {
  const shared = Math.min(3, pegs.length, places.length);
  return places.slice(0, shared).every(([east, north], at) => pegs[at]?.east === east && pegs[at]?.north === north);
}
