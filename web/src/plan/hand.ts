/** Carries out what a gesture answers: on the session, on the desk, on the sketch. */

import type { SitePoint } from "../geometry/types";
import { attempt } from "../state/changes";
import { leaves, openLeaf } from "../state/desk";
import type { Session } from "../state/session";
import { units } from "../state/settings";
import { type Signal, effect, signal, untracked } from "../state/signal";
import { photos } from "../state/photos";
import { pick } from "../state/pick";
import { type Tool, tool } from "../state/tool";
import { BankFromHere } from "./gestures/bank";
import { Choose } from "./gestures/choose";
import { DrawBoundary, DrawBreakline, DrawSection, Measure } from "./gestures/draw-lines";
import { DrawMound, DrawStream, DrawWay, PutFall, PutSeat } from "./gestures/draw-built";
import { DrawIsland, DrawShoreline } from "./gestures/draw-shore";
import { DrawGuard, DrawTape } from "./gestures/draw-lining";
import { DrawDrain, DrawReading } from "./gestures/draw-water";
import type { Answer, Draft, Gesture, Key, Sketch, Touch, World } from "./gestures/gesture";
import { PickPlace } from "./gestures/pick";
import { PutDown } from "./gestures/place";
import { PointerBase, type PointerEventKind } from "./gestures/pointer";
import { TiePhoto } from "./gestures/tie";
import type { Haul } from "./hauls";
import { DrawPile } from "./gestures/soil";
import { type NumberedFlag, flagsOf } from "./layers/flags";
import { marksOf } from "./layers/views";
import { drawnJob } from "./located";
import { keptSection, sectionLine } from "./mark";
import { say } from "./say";

export class Hand {
  readonly says: Signal<string> = signal(say("plan.choose"));
  readonly sketch: Signal<Sketch | null> = signal<Sketch | null>(null);
  readonly mark: Signal<SitePoint | null> = signal<SitePoint | null>(null);
  readonly draft: Signal<Draft | null> = signal<Draft | null>(null);
  readonly stop: () => void;
  private readonly held: Signal<Gesture>;
  private readonly pointer: PointerBase;

  constructor(
    private readonly session: Session,
    private readonly rotation: () => number,
    private readonly flagsShown: () => boolean,
    private readonly photosShown: () => boolean,
    private readonly haulsShown: () => readonly Haul[] = () => [],
  ) {
    const first = new Choose(rotation);
    this.held = signal<Gesture>(first);
    this.pointer = new PointerBase(first);
    this.stop = effect(() => {
      const next = tool.value;
      untracked(() => this.take(next));
    });
  }

  /** The gesture in hand; the box beside the plan types into it. */
  get gesture(): Gesture {
    return this.held.value;
  }

  /** Whether the pointer is ours: the plan must not pan. */
  get holds(): boolean {
    return this.pointer.holds;
  }

  /** Records of the pointer; true when the plan must leave the pointer alone. */
  feed(kind: PointerEventKind, touch: Touch): boolean {
    const held = this.pointer.holds;
    const world = this.world();
    if (world === null) return false;
    this.carryOut(this.pointer.feed(kind, touch, world));
    return held || this.pointer.holds;
  }

  /** A key on the plan; true when the hand took it. */
  key(key: Key): boolean {
    const world = this.world();
    if (world === null) return false;
    if (key.key === "Escape") {
      return key.up ? false : this.letGo();
    }
    const answer = this.gesture.key?.(key, world) ?? null;
    if (answer === null) return false;
    this.carryOut(answer);
    return true;
  }

  /** Let go of what is in the hand; once more goes back to moving and choosing. False when there was nothing. */
  letGo(): boolean {
    const world = this.world();
    if (world === null) return false;
    const busy = this.pointer.holds || this.session.preview.value !== null || this.sketch.value !== null;
    this.carryOut(this.pointer.cancel(world));
    this.carryOut(this.gesture.cancel?.(world) ?? {});
    this.session.cancel();
    if (busy) return true;
    const was = this.session.selection.value !== null || tool.value !== "select";
    this.session.selection.value = null;
    tool.value = "select";
    return was;
  }

  /** Drop what is dragged, as a second finger does; what is drawn stays. */
  cancelDrag(): void {
    const world = this.world();
    if (world !== null) this.carryOut(this.pointer.cancel(world));
  }

  /** Let the gesture answer what was typed or pressed in a box. */
  typed(answer: (world: World) => Answer): void {
    const world = this.world();
    if (world !== null) this.carryOut(answer(world));
  }

  carryOut(answer: Answer): void {
    if (answer.commit) {
      if (!attempt(this.session, answer.commit.label, answer.commit.ops)) this.session.cancel();
    } else if (answer.preview === null) this.session.cancel();
    else if (answer.preview !== undefined) this.session.drag(answer.preview);
    if (answer.selection !== undefined) this.session.selection.value = answer.selection;
    if (answer.sketch !== undefined) this.sketch.value = answer.sketch;
    if (answer.mark !== undefined) this.mark.value = answer.mark;
    if (answer.draft !== undefined) this.draft.value = answer.draft;
    if (answer.section !== undefined) this.cut(answer.section);
    if (answer.check !== undefined) openLeaf({ kind: "check", key: answer.check });
    if (answer.open !== undefined) openLeaf(answer.open);
    if (answer.done) tool.value = "select";
    // Last, because another tool begins with words of its own.
    if (answer.says !== undefined) this.says.value = answer.says;
  }

  private cut(line: readonly SitePoint[] | null): void {
    sectionLine.value = line;
    this.session.section(line);
  }

  private take(next: Tool): void {
    if (next === this.gesture.tool && next !== "select") return;
    const world = this.world();
    if (world !== null && this.gesture.tool !== next) {
      this.carryOut(this.gesture.cancel?.(world) ?? {});
      this.session.cancel();
    }
    // A line that is drawn anew is not the one that was kept.
    if (next === "section") keptSection.value = null;
    this.held.value = gestureOf(next, this.rotation);
    this.pointer.take(this.gesture);
    this.sketch.value = null;
    this.mark.value = null;
    this.draft.value = null;
    if (world !== null) this.carryOut(this.gesture.begin?.(world) ?? {});
  }

  private world(): World | null {
    return untracked(() => {
      const job = this.session.shown.value;
      if (job === null) return null;
      const flags: readonly NumberedFlag[] = this.flagsShown() ? flagsOf(this.session.checks.value, leaves.value) : [];
      const line = sectionLine.value;
      const cut = line && { line, id: keptSection.value };
      const marks = this.photosShown() ? marksOf(photos.value) : [];
      return { job: drawnJob(job), selection: this.session.selection.value, units: units.value, flags, photos: marks, hauls: this.haulsShown(), cut };
    });
  }
}

function gestureOf(name: Tool, rotation: () => number): Gesture {
  switch (name) {
    case "select": return new Choose(rotation);
    case "shoreline": return new DrawShoreline();
    case "island": return new DrawIsland();
    case "section": return new DrawSection();
    case "measure": return new Measure();
    case "breakline": return new DrawBreakline();
    case "boundary": return new DrawBoundary();
    case "shot": return new PutDown("shot");
    case "thing":
    case "outlet":
    case "sump":
    case "penetration":
    case "patch": return new PutDown(name);
    case "tape": return new DrawTape();
    case "guard": return new DrawGuard();
    case "reading": return new DrawReading();
    case "drain": return new DrawDrain();
    case "bank":
    case "treatment": return new BankFromHere(name);
    case "photo": return new TiePhoto();
    case "pile": return new DrawPile();
    case "stream": return new DrawStream();
    case "fall": return new PutFall();
    case "mound": return new DrawMound();
    case "way": return new DrawWay();
    case "seat": return new PutSeat();
    case "place": return new PickPlace(pick.value?.looks ?? false);
  }
}
