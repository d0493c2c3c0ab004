/** Points that the hand moves beside the pegs of the shore: of ways, mounds and seats, falls, low spots. */

import type { Job } from "../../api/types";
import type { SitePoint } from "../../geometry/types";
import { type Op, pointer } from "../../state/ops";
import type { Selection } from "../../state/session";
import { type Built, builtLineAt, builtOne, builtPointAt, builtPath, insertPointOps, isBuilt, liesUnder, middleOfBuilt, movePointOps, nameOf, pointsOf, removePointOps, shiftOps } from "../built";
import { distance } from "../plane";
import { say } from "../say";
import { isStoneKind } from "../stones";
import { reach, snapped } from "../snap";
import { type Fall, changeFallOps, fallAt, fallsOf, removeFallOps, stationNear, streamLine } from "../streams";
import { type Answer, NOTHING, type Touch, type World, target } from "./gesture";
import { chosenStone, movableStone, movableStoneAt, stoneOutOps, stoneWords } from "./movable-stone";

/** A point that can be put somewhere else. */
export interface Movable {
  readonly point: SitePoint;
  readonly selection: Selection;
  /** What an edit of it is called. */
  readonly label: string;
  /** Whether it may lie on what is near. */
  readonly snaps: boolean;
  ops(to: SitePoint): Op[];
}

/** The point that is chosen, or the middle of a row that is chosen whole; null when neither is. */
export function movableOf(job: Job, selection: Selection | null): Movable | null {
  if (selection === null) return null;
  if (isStoneKind(selection.kind)) return movableStone(job, selection);
  if (selection.kind === "fall") {
    const line = selection.body ? streamLine(job, selection.body) : null;
    const fall = line && fallsOf(line)[selection.at ?? -1];
    return fall ? movableFall(job, fall) : null;
  }
  if (selection.kind === "low_spot") return movableLowSpot(job, selection.id);
  const built = builtOne(job, selection);
  if (built && selection.at === undefined && built.place.at !== "point") return movableWhole(built);
  return built && movablePoint(built, selection.at ?? 0);
}

/** A way or a mound, taken by its middle. */
export function movableWhole(built: Built): Movable | null {
  const middle = middleOfBuilt(built);
  if (middle === null) return null;
  return {
    point: middle,
    selection: { kind: built.kind, id: built.id },
    label: say("plan.label.moveBuilt", { name: nameOf(built) }),
    snaps: false,
    ops: (to) => shiftOps(built, [to[0] - middle[0], to[1] - middle[1]]),
  };
}

/** The point under a press. */
export function movableAt(touch: Touch, world: World): Movable | null {
  const within = target(touch);
  const stone = movableStoneAt(touch, world);
  if (stone) return stone;
  const on = builtPointAt(world.job, world.selection, touch.site, within);
  if (on) return movablePoint(on.built, on.at);
  const spot = lowSpotAt(world.job, touch.site, within);
  if (spot) return movableLowSpot(world.job, spot);
  const fall = fallAt(world.job, touch.site, within);
  return fall && movableFall(world.job, fall);
}

export function chosenWords(selection: Selection, job: Job): string {
  if (selection.kind === "fall") return say("plan.chosen.fall", { number: (selection.at ?? 0) + 1 });
  if (selection.kind === "low_spot") return say("plan.chosen.lowSpot");
  if (isStoneKind(selection.kind)) return stoneWords(selection, job);
  const built = builtOne(job, selection);
  if (!built) return "";
  if (selection.at === undefined || built.place.at === "point") return say(built.place.at === "point" ? "plan.chosen.seat" : "plan.chosen.built", { name: nameOf(built) });
  return say("plan.chosen.point", { number: selection.at + 1, name: nameOf(built) });
}

function movablePoint(built: Built, at: number): Movable | null {
  const point = pointsOf(built)[at];
  if (!point) return null;
  return {
    point,
    selection: { kind: built.kind, id: built.id, at },
    label: say("plan.label.moveBuilt", { name: nameOf(built) }),
    snaps: true,
    ops: (to) => movePointOps(built, at, to),
  };
}

function movableFall(job: Job, fall: Fall): Movable {
  return {
    point: fall.point,
    selection: { kind: "fall", id: `${fall.body}-${fall.at + 1}`, body: fall.body, at: fall.at },
    label: say("plan.label.moveFall", { number: fall.at + 1 }),
    snaps: false,
    ops: (to) => {
      const line = streamLine(job, fall.body);
      return line ? changeFallOps(line, fall.at, { distance: stationNear(line, to).station }) : [];
    },
  };
}

function movableLowSpot(job: Job, body: string): Movable | null {
  const spot = job.shape.bodies?.[body]?.low_spot;
  if (!spot) return null;
  return {
    point: [spot.east, spot.north],
    selection: { kind: "low_spot", id: body, body },
    label: say("plan.label.lowSpot"),
    snaps: false,
    ops: ([east, north]) => [{ op: "add", path: pointer("shape", "bodies", body, "low_spot"), value: { east, north } }],
  };
}

function lowSpotAt(job: Job, place: SitePoint, within: number): string | null {
  const near = Object.entries(job.shape.bodies ?? {}).find(([, { low_spot: spot }]) => spot && distance([spot.east, spot.north], place) <= within);
  return near?.[0] ?? null;
}

/** The chosen way or mound in the hand, gripped along its line or inside it; one that is not chosen lies under a drag of the plan. */
export class HeldBuilt {
  private done: readonly Op[] = [];

  private constructor(
    private readonly whole: Movable,
    private readonly from: SitePoint,
  ) {}

  /** Null where the chosen row does not lie under the press, or follows a shore. */
  static chosen(touch: Touch, { job, selection }: World): HeldBuilt | null {
    const built = selection && isBuilt(selection) ? builtOne(job, selection) : null;
    const whole = built && liesUnder(job, built, touch.site, target(touch)) ? movableWhole(built) : null;
    return whole && new HeldBuilt(whole, touch.site);
  }

  drag(touch: Touch): Answer {
    const { point, selection } = this.whole;
    this.done = this.whole.ops([point[0] + touch.site[0] - this.from[0], point[1] + touch.site[1] - this.from[1]]);
    return { preview: this.done, selection };
  }

  drop(): Answer {
    return { commit: { label: this.whole.label, ops: this.done }, selection: this.whole.selection };
  }
}

/** A movable point in the hand: from the press to the drop. */
export class HeldPoint {
  private done: readonly Op[] = [];

  private constructor(
    private readonly movable: Movable,
    private readonly grip: SitePoint,
  ) {}

  static of(movable: Movable, touch: Touch): HeldPoint {
    return new HeldPoint(movable, [movable.point[0] - touch.site[0], movable.point[1] - touch.site[1]]);
  }

  /** Put a point into the chosen line where it was pressed, and take hold of it. */
  static inserted(touch: Touch, world: World): HeldPoint | null {
    const on = builtLineAt(world.job, world.selection, touch.site, target(touch));
    if (!on) return null;
    const { built, after, point } = on;
    const held = new HeldPoint(
      {
        point,
        selection: { kind: built.kind, id: built.id, at: after + 1 },
        label: say("plan.label.insertPoint", { name: nameOf(built) }),
        snaps: true,
        ops: (to) => insertPointOps(built, after, to),
      },
      [0, 0],
    );
    held.done = insertPointOps(built, after, point);
    return held;
  }

  drag(touch: Touch, world: World): Answer {
    const aimed: SitePoint = [touch.site[0] + this.grip[0], touch.site[1] + this.grip[1]];
    const on = this.movable.snaps && !touch.alt ? snapped(world.job, aimed, reach(touch.metresPerPixel, touch.coarse)) : null;
    this.done = this.movable.ops(on?.point ?? aimed);
    return { preview: this.done, selection: this.movable.selection, says: on?.says ?? "", mark: on?.point ?? null };
  }

  drop(): Answer {
    return { commit: { label: this.movable.label, ops: this.done }, selection: this.movable.selection, mark: null };
  }
}

/** Put the chosen point at a place, at once. */
export function pointTo(world: World, place: SitePoint): Answer {
  const movable = movableOf(world.job, world.selection);
  return movable ? { commit: { label: movable.label, ops: movable.ops(place) }, mark: null } : NOTHING;
}

/** Take out what is chosen: a point of a line, a fall, a low spot, or the whole row; null when it is none of these. */
export function movableOut({ job, selection }: World): Answer | null {
  if (selection?.kind === "fall" && selection.body !== undefined) {
    const line = streamLine(job, selection.body);
    if (!line) return NOTHING;
    const number = (selection.at ?? 0) + 1;
    return { commit: { label: say("plan.label.removeFall", { number }), ops: removeFallOps(line, selection.at ?? 0) }, selection: null };
  }
  const stoneOps = selection && stoneOutOps(job, selection);
  if (stoneOps) return { commit: { label: say("plan.label.remove", { id: chosenStone(job, selection)?.name ?? "" }), ops: stoneOps }, selection: null };
  if (selection?.kind === "low_spot") {
    const ops: Op[] = [{ op: "remove", path: pointer("shape", "bodies", selection.id, "low_spot") }];
    return { commit: { label: say("plan.label.lowSpot"), ops }, selection: null };
  }
  const built = selection && isBuilt(selection) ? builtOne(job, selection) : null;
  if (!built || selection === null) return null;
  const name = nameOf(built);
  const ops = selection.at === undefined ? null : removePointOps(built, selection.at);
  if (ops) return { commit: { label: say("plan.label.removePoint", { name }), ops }, selection: { kind: built.kind, id: built.id } };
  return { commit: { label: say("plan.label.remove", { id: name }), ops: [{ op: "remove", path: builtPath(built.kind, built.id) }] }, selection: null };
}

/** The next point of the chosen row, or the one before; the next fall of the stream. */
export function nextPoint({ job, selection }: World, step: 1 | -1): Answer | null {
  if (selection?.kind === "fall" && selection.body !== undefined) {
    const line = streamLine(job, selection.body);
    const falls = line ? fallsOf(line) : [];
    const fall = falls[((selection.at ?? 0) + step + falls.length) % Math.max(falls.length, 1)];
    return fall ? chosen(movableFall(job, fall).selection, job) : null;
  }
  const built = selection && isBuilt(selection) ? builtOne(job, selection) : null;
  if (!built || selection === null) return null;
  const count = pointsOf(built).length;
  const at = selection.at === undefined ? (step === 1 ? 0 : count - 1) : (selection.at + step + count) % count;
  return chosen({ kind: built.kind, id: built.id, at }, job);
}

function chosen(selection: Selection, job: Job): Answer {
  return { selection, says: chosenWords(selection, job) };
}
