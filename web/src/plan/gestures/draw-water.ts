/** Draw what is known of the groundwater and what leads it away: readings and drains. */

import type { ReadingKind } from "../../api/water";
import type { SitePoint } from "../../geometry/types";
import type { Op } from "../../state/ops";
import { type Signal, signal } from "../../state/signal";
import { type WaterKind, builtPath, nameOf, wateredOf } from "../built";
import { placeThrough } from "../line-kinds";
import { distance, nearestOnLine } from "../plane";
import { drawnPlace } from "../places";
import { calledBy, freeId, json } from "../rings";
import { say } from "../say";
import type { Snapped } from "../snap";
import { reach } from "../snap";
import type { Answer, Touch, World } from "./gesture";
import { Path } from "./path";

/** What the next reading is of: a ditch is a line, a pond a ring, everything else a place. */
export const readingKind: Signal<ReadingKind> = signal<ReadingKind>("standpipe");

export class DrawReading extends Path {
  readonly tool = "reading";
  protected override least = 1;
  protected override closed = false;
  private taken: readonly string[] = [];

  override begin(world: World): Answer {
    this.taken = rowsOf(world, "reading");
    this.suit();
    return super.begin(world);
  }

  override tap(touch: Touch, world: World): Answer {
    this.suit();
    return super.tap(touch, world);
  }

  override hover(touch: Touch, world: World): Answer {
    this.suit();
    return super.hover(touch, world);
  }

  /** What is read at one place is there with one press. */
  override add(place: SitePoint, world: World): Answer {
    this.suit();
    const answer = super.add(place, world);
    return this.least === 1 ? this.finish(world) : answer;
  }

  protected instruction(): string {
    const kind = readingKind.value;
    return say(kind === "pond" ? "plan.draw.readPond" : kind === "ditch" ? "plan.draw.readDitch" : "plan.draw.reading");
  }

  /** The kind may change in the box at any time. */
  private suit(): void {
    this.least = readingKind.value === "pond" ? 3 : readingKind.value === "ditch" ? 2 : 1;
    this.closed = readingKind.value === "pond";
  }

  protected made(): Answer {
    const kind = readingKind.value;
    const id = freeId(`${kind}_`, this.taken);
    const place = this.least === 1 ? placeThrough(this.places.slice(-1), false) : placeThrough(this.places, this.closed);
    const value = json({ kind, place, status: "existing" });
    const commit = { label: say("plan.label.shoreline", { id: calledBy(id) }), ops: [{ op: "add" as const, path: builtPath("reading", id), value }] };
    return { commit, sketch: null, mark: null, done: true, selection: { kind: "reading", id }, says: say("plan.fillTheBox") };
  }
}

/** A drain from its upper end down; where it ends on an outlet, a sump or another drain, it runs into that. */
export class DrawDrain extends Path {
  readonly tool = "drain";
  private taken: readonly string[] = [];

  override begin(world: World): Answer {
    this.taken = rowsOf(world, "drain");
    return super.begin(world);
  }

  protected instruction(): string {
    return say("plan.draw.drain");
  }

  protected override snap(touch: Touch, world: World): Snapped | null {
    if (touch.alt) return null;
    return endNear(world, touch.site, reach(touch.metresPerPixel, touch.coarse), "") ?? super.snap(touch, world);
  }

  protected override shownSoFar(world: World): Answer {
    return { preview: this.places.length < this.least ? null : [this.op(world)] };
  }

  protected made(world: World): Answer {
    const id = freeId("drain_", this.taken);
    const into = this.into(world);
    const commit = { label: say("plan.label.shoreline", { id: calledBy(id) }), ops: [this.op(world)] };
    const says = into === null ? say("plan.drainNoEnd", { id: calledBy(id) }) : say("plan.drainEnds", { id: calledBy(id), into: calledIn(world, into) });
    return { commit, sketch: null, mark: null, done: true, selection: { kind: "drain", id }, says };
  }

  private into(world: World): string | null {
    const end = this.places.at(-1);
    return end ? (endNear(world, end, ON_IT, freeId("drain_", this.taken))?.id ?? null) : null;
  }

  private op(world: World): Op {
    const into = this.into(world);
    const value = json({ place: placeThrough(this.places, false), ...(into === null ? {} : { into }) });
    return { op: "add", path: builtPath("drain", freeId("drain_", this.taken)), value };
  }
}

const ON_IT = 0.05; // metres

interface End extends Snapped {
  readonly id: string;
}

/** Outlet or sump at a place, else a drain, with the place on it: drains end there too, and never come first. */
function endNear(world: World, place: SitePoint, within: number, except: string): End | null {
  return nearestEnd(world, place, within, except, "point") ?? nearestEnd(world, place, within, except, "line");
}

function nearestEnd({ job }: World, place: SitePoint, within: number, except: string, as: "point" | "line"): End | null {
  let best: End | null = null;
  let least = within;
  for (const row of wateredOf(job)) {
    const drawn = row.kind === "reading" || row.id === except ? null : drawnPlace(job, row.place);
    if (drawn?.as !== as) continue;
    const point = drawn.as === "point" ? drawn.point : drawn.as === "line" ? nearestOnLine(drawn.line, place)?.point : undefined;
    const away = point ? distance(point, place) : Infinity;
    if (!point || away > least) continue;
    best = { point, says: say("plan.on.thing", { name: nameOf(row) }), id: row.id };
    least = away;
  }
  return best;
}

function rowsOf({ job }: World, kind: WaterKind): readonly string[] {
  return wateredOf(job).filter((row) => row.kind === kind).map(({ id }) => id);
}

function calledIn({ job }: World, id: string): string {
  const found = wateredOf(job).find((one) => one.id === id);
  return (found?.row as { readonly name?: string } | undefined)?.name || calledBy(id);
}
