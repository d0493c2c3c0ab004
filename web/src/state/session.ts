/**
 * One open job: the document with the edits of this window on it, what the server computed of it,
 * and the way to change it.
 *
 * The document is optimistic (an edit shows at once), numbers never are (only the server computes).
 * `confirmed` is what the server has; `pending` edits lie on it until they are answered; a drag lies on
 * top of both and is not an edit before the drop.
 */

import type { Frame, StageFigures } from "../api/frame";
import { LiveLink, type PendingEdit } from "../api/live";
import type { Fault, Finding, Job, KeptEdit } from "../api/types";
import { type Json, type Op, applyOps, inverseOps, valueAtPath } from "./ops";
import { type ReadonlySignal, type Signal, batch, computed, signal, untracked } from "./signal";

export type LinkState = "exact" | "moving" | "no server";

export interface Selection {
  readonly kind: "peg" | "shot" | "probe" | "thing" | "line" | "section" | "body" | "pile" | "gate" | "way" | "mound" | "seat" | "fall" | "low_spot" | "reading" | "drain" | "outlet" | "sump" | "penetration" | "patch" | "guard" | "tape" | "stone" | "heap" | "stand";
  readonly id: string;
  /** Number of the point of it that is meant; none is the whole of it. */
  readonly at?: number;
  readonly body?: string;
  readonly ring?: string;
}

export interface RefusedEdit {
  readonly edit: PendingEdit;
  readonly why: string;
  readonly faults: readonly Fault[];
}

export interface Step {
  readonly label: string;
  readonly forward: readonly Op[];
  readonly inverse: readonly Op[];
}

/** A change that cannot be made on the document as it stands. */
export class CannotChange extends Error {}

export class Session {
  readonly job: Signal<Job | null> = signal<Job | null>(null);
  readonly preview: Signal<readonly Op[] | null> = signal<readonly Op[] | null>(null);
  readonly shown: ReadonlySignal<Job | null>;
  /** What is shown, but under a moving hand only as of the newest answer: for views that draw the answers. */
  readonly answered: ReadonlySignal<Job | null>;
  readonly rev: Signal<number> = signal(-1);
  readonly frame: Signal<Frame | null> = signal<Frame | null>(null);
  readonly figures: ReadonlySignal<Readonly<Record<string, number>>>;
  readonly checks: ReadonlySignal<readonly Finding[]>;
  readonly link: ReadonlySignal<LinkState>;
  /** Level of the water that heights are counted from: that of the first body. */
  readonly waterLine: ReadonlySignal<number | null>;
  readonly selection: Signal<Selection | null> = signal<Selection | null>(null);
  readonly tray: Signal<readonly RefusedEdit[]> = signal<readonly RefusedEdit[]>([]);
  readonly undoable: Signal<readonly Step[]> = signal<readonly Step[]>([]);
  readonly redoable: Signal<readonly Step[]> = signal<readonly Step[]>([]);
  /** Figures as they stood when the drag in hand began, for "change since". */
  readonly before: Signal<Readonly<Record<string, number>> | null> = signal<Readonly<Record<string, number>> | null>(null);

  /** Why what is under the hand cannot be computed, in one sentence; empty when it can. */
  readonly trouble: Signal<string> = signal("");
  /** Why the server will not open this job, if so. */
  readonly ended: Signal<string | null> = signal<string | null>(null);

  private readonly client = randomName();
  private readonly connected = signal(false);
  /** Who asks for which array. */
  private readonly wanted = new Map([["strip", new Set(["session"])]]);
  private readonly sectionPoints: Signal<readonly (readonly [number, number])[] | null> = signal<
    readonly (readonly [number, number])[] | null
  >(null);
  private readonly linkToServer: LiveLink;
  private confirmed: { rev: number; job: Job } | null = null;
  /** Edits that the server makes for this window, and that are steps of its undo when they come. */
  private readonly expected = new Set<string>();
  private readonly pendingEdits: Signal<readonly PendingEdit[]> = signal<readonly PendingEdit[]>([]);
  private gestureBase = -1;
  private counter = 0;

  constructor(
    readonly id: string,
    author: string,
    address = liveAddress(id),
  ) {
    this.shown = computed(() => {
      const job = this.job.value;
      return job && this.preview.value ? applyOps(job as unknown as Json, this.preview.value) as unknown as Job : job;
    });
    const moving = computed(() => this.preview.value !== null);
    this.answered = computed(() => {
      void this.frame.value;
      return moving.value ? untracked(() => this.shown.value) : this.shown.value;
    });
    this.figures = computed(() => known(this.frame.value?.header.figures ?? {}));
    this.waterLine = computed(() => {
      const [first] = Object.keys(this.shown.value?.shape.bodies ?? {});
      return (first && this.figures.value[`shape.shore.bodies.${first}.level`]) || null;
    });
    this.checks = computed(() => this.frame.value?.header.checks ?? []);
    this.link = computed(() => {
      if (!this.connected.value) return "no server";
      const header = this.frame.value?.header;
      const current = header?.rev === this.rev.value && header.state === "exact" && header.lod === 1;
      const settled = this.preview.value === null && this.pendingEdits.value.length === 0;
      return current && settled ? "exact" : "moving";
    });
    this.linkToServer = new LiveLink(address, this.client, author, () => this.confirmed?.rev ?? null, {
      document: (rev, job) => this.confirm(rev, job),
      patch: (_rev, edits) => this.catchUp(edits),
      accepted: (id, rev) => this.accepted(id, rev),
      refused: (id, _rev, why, faults, edits) => this.refused(id, why, faults, edits),
      frame: (frame) => this.show(frame),
      connected: (yes) => this.connect(yes),
      cannot: (why) => this.trouble.value = why,
      ended: (why) => this.ended.value = why,
    });
  }

  /** Show a change that follows the hand; nothing is kept until `commit`. */
  drag(ops: readonly Op[]): void {
    if (this.preview.value === null) this.beginGesture();
    this.preview.value = ops;
    this.ask();
  }

  /** Drop what the hand was doing. */
  cancel(): void {
    if (this.preview.value === null) return;
    batch(() => {
      this.preview.value = null;
      this.before.value = null;
    });
    this.ask();
  }

  /** Make a change for good: one edit, one step of undo. Throws CannotChange. */
  commit(label: string, ops: readonly Op[]): void {
    const step = this.send(label, ops);
    batch(() => {
      this.undoable.value = [...this.undoable.value, step];
      this.redoable.value = [];
    });
  }

  /** Take back the last change of this window. Throws CannotChange when someone changed it since. */
  undo(): void {
    const step = this.undoable.value.at(-1);
    if (!step) return;
    this.send(step.label, step.inverse);
    batch(() => {
      this.undoable.value = this.undoable.value.slice(0, -1);
      this.redoable.value = [...this.redoable.value, step];
    });
  }

  /** Make the change again that was taken back last. Throws CannotChange. */
  redo(): void {
    const step = this.redoable.value.at(-1);
    if (!step) return;
    const again = this.send(step.label, step.forward);
    batch(() => {
      this.redoable.value = this.redoable.value.slice(0, -1);
      this.undoable.value = [...this.undoable.value, again];
    });
  }

  /** Name for an edit that the server makes for this window: its coming is a step of undo here. */
  expect(): string {
    this.counter += 1;
    const id = `${this.client}-${this.counter}`;
    this.expected.add(id);
    return id;
  }

  /** Ask for a kind of array in each frame, or no longer; it comes as long as one asker wants it. */
  want(name: string, on: boolean, asker: string): void {
    const askers = this.wanted.get(name) ?? new Set<string>();
    const came = askers.size > 0;
    if (on) askers.add(asker);
    else askers.delete(asker);
    if (askers.size > 0) this.wanted.set(name, askers);
    else this.wanted.delete(name);
    if (came !== askers.size > 0) this.ask();
  }

  /** Cut the ground along a line in each frame, or no longer. */
  section(points: readonly (readonly [number, number])[] | null): void {
    this.sectionPoints.value = points;
    this.ask();
  }

  /** Send a refused edit again, on the document as it is now. */
  retry(refused: RefusedEdit): void {
    this.dismiss(refused);
    this.commit(refused.edit.label, refused.edit.ops);
  }

  /** Let a refused edit go. */
  dismiss(refused: RefusedEdit): void {
    this.tray.value = this.tray.value.filter((other) => other !== refused);
  }

  /** Edits that the server has not answered yet. */
  get unsent(): number {
    return this.pendingEdits.value.length;
  }

  /** Edits made from now on carry another name. */
  rename(author: string): void {
    this.linkToServer.rename(author);
  }

  close(): void {
    this.linkToServer.close();
  }

  private get pending(): readonly PendingEdit[] {
    return untracked(() => this.pendingEdits.value);
  }

  private set pending(edits: readonly PendingEdit[]) {
    this.pendingEdits.value = edits;
  }

  private beginGesture(): void {
    this.gestureBase = this.confirmed?.rev ?? -1;
    this.before.value = this.figures.value;
  }

  private send(label: string, ops: readonly Op[]): Step {
    const job = this.job.value;
    if (job === null || this.confirmed === null) throw new CannotChange("no job");
    const base = this.preview.value === null ? this.confirmed.rev : this.gestureBase;
    const inverse = undoOps(job as unknown as Json, ops);
    this.counter += 1;
    const edit: PendingEdit = { id: `${this.client}-${this.counter}`, base, ops, label };
    this.pending = [...this.pending, edit];
    batch(() => {
      this.preview.value = null;
      this.before.value = null;
      this.rebuild();
    });
    this.linkToServer.edit(edit);
    this.ask();
    return { label, forward: ops, inverse };
  }

  private ask(): void {
    const moving = this.preview.value;
    this.linkToServer.live({
      base: this.confirmed?.rev ?? 0,
      ops: moving,
      lod: moving === null ? 1 : 2,
      want: [...this.wanted.keys()].sort(),
      section: this.sectionPoints.value ? { points: this.sectionPoints.value } : null,
    });
  }

  private connect(yes: boolean): void {
    this.connected.value = yes;
    if (yes) this.ask();
  }

  private show(frame: Frame): void {
    batch(() => {
      this.frame.value = frame;
      this.trouble.value = "";
    });
  }

  private confirm(rev: number, job: Job): void {
    this.confirmed = { rev, job: filled(job) };
    batch(() => this.rebuild());
    this.ask();
  }

  private catchUp(edits: readonly KeptEdit[]): void {
    let moved = false;
    for (const edit of edits) {
      if (this.confirmed === null || edit.rev !== this.confirmed.rev + 1) continue;
      if (this.expected.delete(edit.id)) this.step(edit, this.confirmed.job);
      const own = this.pending.find((one) => one.id === edit.id);
      if (own && own.ops.length !== edit.ops.length) this.amend(own.ops, edit, this.confirmed.job);
      this.confirmed = { rev: edit.rev, job: changed(this.confirmed.job, edit.ops) };
      this.pending = this.pending.filter((own) => own.id !== edit.id);
      moved = true;
    }
    if (!moved) return;
    batch(() => this.rebuild());
    this.ask();
  }

  /** The server added to an edit of this window, such as the level that keeps soil balanced: one step of undo takes back both. */
  private amend(sent: readonly Op[], { label, ops }: KeptEdit, before: Job): void {
    const amended = { label, forward: ops, inverse: undoOps(before as unknown as Json, ops) };
    this.undoable.value = untracked(() => this.undoable.value).map((step) => (step.forward === sent ? amended : step));
  }

  private step({ label, ops }: KeptEdit, before: Job): void {
    const inverse = undoOps(before as unknown as Json, ops);
    this.undoable.value = [...untracked(() => this.undoable.value), { label, forward: ops, inverse }];
    this.redoable.value = [];
  }

  private accepted(id: string, rev: number): void {
    const own = this.pending.find((edit) => edit.id === id);
    if (!own || this.confirmed === null) return;
    this.pending = this.pending.filter((edit) => edit !== own);
    if (rev > this.confirmed.rev) this.confirmed = { rev, job: changed(this.confirmed.job, own.ops) };
    batch(() => this.rebuild());
    this.ask();
  }

  private refused(id: string, why: string, faults: readonly Fault[], edits: readonly KeptEdit[]): void {
    const own = this.pending.find((edit) => edit.id === id);
    this.pending = this.pending.filter((edit) => edit !== own);
    this.catchUp(edits);
    batch(() => {
      if (own) this.tray.value = [...this.tray.value, { edit: own, why, faults }];
      this.rebuild();
    });
    this.ask();
  }

  /** Lay the pending edits on the confirmed document again; one that no longer fits waits for its answer. */
  private rebuild(): void {
    if (this.confirmed === null) return;
    let job = this.confirmed.job;
    for (const edit of this.pending) {
      try {
        job = changed(job, edit.ops);
      } catch {
        continue;
      }
    }
    this.rev.value = this.confirmed.rev;
    this.job.value = job;
    try {
      if (this.preview.value) changed(job, this.preview.value);
    } catch {
      this.preview.value = null;
    }
  }
}

/** Inverse operations, each guarded by a test that nobody has changed the value since. */
export function undoOps(job: Json, ops: readonly Op[]): Op[] {
  let after: Json;
  let inverse: Op[];
  try {
    inverse = inverseOps(job, ops);
    after = applyOps(job, ops);
  } catch (fault) {
    throw new CannotChange((fault as Error).message);
  }
  const guards = inverse
    .filter((op) => op.op !== "add" && valueAtPath(after, op.path) !== undefined)
    .map((op): Op => ({ op: "test", path: op.path, value: valueAtPath(after, op.path) as Json }));
  return [...guards, ...inverse];
}

function changed(job: Job, ops: readonly Op[]): Job {
  return applyOps(job as unknown as Json, ops) as unknown as Job;
}

/** Figures that have a value, of all stages. */
function known(stages: Readonly<Record<string, StageFigures>>): Readonly<Record<string, number>> {
  const found: Record<string, number> = {};
  for (const figures of Object.values(stages)) {
    for (const path in figures) if (figures[path] !== null) found[path] = figures[path] as number;
  }
  return found;
}

/** The document with the parts that every reader asks for; what has its default may be left out of it. */
function filled(job: Job): Job {
  return { ...job, shown_units: job.shown_units ?? "metric", site: job.site ?? {}, shape: job.shape ?? {} };
}

function liveAddress(id: string): string {
  const page = new URL(`api/jobs/${id}/live`, document.baseURI);
  page.protocol = page.protocol === "https:" ? "wss:" : "ws:";
  return page.href;
}

/** A name for this window that no other has; works where `crypto.randomUUID` is missing. */
function randomName(): string {
  return [...crypto.getRandomValues(new Uint8Array(8))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
