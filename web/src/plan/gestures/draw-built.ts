/** Draw what is built: streams with their falls, mounds, ways and seats. Numbers follow while it is drawn. */

import type { WayKind } from "../../api/types";
import type { SitePoint } from "../../geometry/types";
import { type Op, pointer } from "../../state/ops";
import { type Signal, signal } from "../../state/signal";
import { FIRST_HEIGHT, builtPath, isArea, isPoint, newWay } from "../built";
import { distance } from "../plane";
import { calledBy, curveThrough, freeId, json } from "../rings";
import { say } from "../say";
import { reach, snapped } from "../snap";
import { FIRST_DROP, FIRST_WIDTH, addFallOps, newStream, streamAt, streamLine } from "../streams";
import type { Answer, Gesture, Key, Sketch, Touch, World } from "./gesture";
import { target } from "./gesture";
import { Path } from "./path";

/** What the next way is, and the numbers that the box beside the plan sets before anything is drawn. */
export interface Building {
  readonly way: WayKind;
  /** Null takes the usual one of its kind. */
  readonly width: number | null;
  readonly streamWidth: number;
  readonly drop: number;
  readonly height: number;
}

export const building: Signal<Building> = signal<Building>({ way: "path", width: null, streamWidth: FIRST_WIDTH, drop: FIRST_DROP, height: FIRST_HEIGHT });

/** A line that is an edit of one new row, shown from its least places on. */
abstract class DrawRow extends Path {
  /** Rows there were before anything was drawn; the preview of the new one is never counted. */
  private taken: readonly string[] = [];

  override begin(world: World): Answer {
    this.taken = this.rows(world);
    return super.begin(world);
  }

  protected override shownSoFar(): Answer {
    return { preview: this.places.length < this.least ? null : [this.op()] };
  }

  protected made(): Answer {
    const id = this.id();
    const commit = { label: say("plan.label.shoreline", { id: calledBy(id) }), ops: [this.op()] };
    return { commit, sketch: null, mark: null, done: true, ...this.chosen(id), says: say("plan.drawn", { id: calledBy(id) }) };
  }

  protected id(): string {
    return freeId(`${this.stem()}_`, this.taken);
  }

  protected chosen(_id: string): Answer {
    return {};
  }

  protected get others(): number {
    return this.taken.length;
  }

  protected abstract stem(): string;
  protected abstract rows(world: World): string[];
  protected abstract op(): Op;
}

export class DrawStream extends DrawRow {
  readonly tool = "stream";
  protected override readonly smooth = true;

  protected instruction(): string {
    return say("plan.draw.stream");
  }

  protected stem(): string {
    return "stream";
  }

  protected rows({ job }: World): string[] {
    return Object.keys(job.shape.bodies ?? {});
  }

  protected op(): Op {
    const row = newStream(curveThrough(this.places), building.value.streamWidth, this.others + 1);
    return { op: "add", path: pointer("shape", "bodies", this.id()), value: json(row) };
  }

  protected override chosen(id: string): Answer {
    return { selection: { kind: "peg", id: "p1", body: id, ring: "outer" } };
  }
}

export class DrawMound extends DrawRow {
  readonly tool = "mound";
  protected override readonly least = 3;
  protected override readonly closed = true;
  protected override readonly smooth = true;

  protected instruction(): string {
    return say("plan.draw.mound");
  }

  protected stem(): string {
    return "mound";
  }

  protected rows({ job }: World): string[] {
    return Object.keys(job.shape.mounds ?? {});
  }

  protected op(): Op {
    const row = { place: { at: "ring", curve: curveThrough(this.places) }, height: building.value.height };
    return { op: "add", path: builtPath("mound", this.id()), value: json(row) };
  }

  protected override chosen(id: string): Answer {
    return { selection: { kind: "mound", id } };
  }
}

export class DrawWay extends DrawRow {
  readonly tool = "way";

  protected instruction(): string {
    const { way } = building.value;
    return say(isPoint(way) ? "plan.draw.light" : way === "fence" ? "plan.draw.fence" : isArea(way) ? "plan.draw.area" : "plan.draw.way");
  }

  override tap(touch: Touch, world: World): Answer {
    const [first] = this.places;
    if (building.value.way !== "fence" || !first || this.places.length < 3 || distance(first, touch.site) > target(touch)) return super.tap(touch, world);
    this.places.push(first);
    return this.finish(world);
  }

  override add(place: SitePoint, world: World): Answer {
    if (!isPoint(building.value.way)) return super.add(place, world);
    this.places.push(place);
    const answer = this.made();
    this.places.length = 0;
    return answer;
  }

  protected stem(): string {
    return building.value.way;
  }

  protected rows({ job }: World): string[] {
    return Object.keys(job.shape.ways ?? {});
  }

  protected op(): Op {
    const { way, width } = building.value;
    return { op: "add", path: builtPath("way", this.id()), value: json(newWay(way, this.places, width)) };
  }

  protected override sketch(places: readonly SitePoint[]): Sketch | null {
    return places.length === 0 ? null : { places: [...places], closed: isArea(building.value.way) && places.length > 2, smooth: false };
  }

  protected override chosen(id: string): Answer {
    return { selection: { kind: "way", id } };
  }
}

/** Press on a stream to put a fall into it. */
export class PutFall implements Gesture {
  readonly tool = "fall";

  begin(): Answer {
    return { says: say("plan.draw.fall"), sketch: null, draft: null, selection: null };
  }

  tap(touch: Touch, world: World): Answer {
    const on = streamAt(world.job, touch.site, target(touch));
    if (!on) return { says: say("plan.pressStream") };
    return fallTo(on.line.body, on.station, world);
  }

  key(_key: Key): null {
    return null;
  }

  cancel(): Answer {
    return { mark: null, says: say("plan.draw.fall") };
  }
}

/** Press where one sits, or stands at a window. */
export class PutSeat implements Gesture {
  readonly tool = "seat";

  begin(): Answer {
    return { says: say("plan.draw.seat"), sketch: null, draft: null, selection: null };
  }

  hover(touch: Touch, world: World): Answer {
    const on = this.snap(touch, world);
    return { mark: on?.point ?? null, says: on?.says ?? say("plan.draw.seat") };
  }

  tap(touch: Touch, world: World): Answer {
    return seatTo(this.snap(touch, world)?.point ?? touch.site, world);
  }

  key(_key: Key): null {
    return null;
  }

  cancel(): Answer {
    return { mark: null, says: say("plan.draw.seat") };
  }

  private snap(touch: Touch, world: World): ReturnType<typeof snapped> {
    return touch.alt ? null : snapped(world.job, touch.site, reach(touch.metresPerPixel, touch.coarse));
  }
}

/** Put a new seat at a place, pressed or typed. */
export function seatTo([east, north]: SitePoint, { job }: World): Answer {
  const id = freeId("seat_", Object.keys(job.shape.seats ?? {}));
  const value = json({ kind: "seat", place: { at: "point", east, north } });
  const commit = { label: say("plan.label.shoreline", { id: calledBy(id) }), ops: [{ op: "add" as const, path: builtPath("seat", id), value }] };
  return { commit, selection: { kind: "seat", id, at: 0 }, mark: null, done: true, says: say("plan.drawn", { id: calledBy(id) }) };
}

/** Put a fall at a typed distance along a stream. */
export function fallTo(body: string, station: number, { job }: World): Answer {
  const on = streamLine(job, body);
  if (!on) return { says: say("plan.pressStream") };
  const { ops, at } = addFallOps(on, station, building.value.drop);
  return { commit: { label: say("plan.label.fall", { body }), ops }, selection: { kind: "fall", id: `${body}-${at + 1}`, body, at }, done: true, says: say("plan.chosen.fall", { number: at + 1 }) };
}
