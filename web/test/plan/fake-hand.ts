/** A job, a pointer and a hand without a browser: a pixel is 5 cm, answers are applied to the job. */

import type { Curve, Job } from "../../src/api/types";
import type { SitePoint } from "../../src/geometry/types";
import type { Answer, Flag, Gesture, Key, PhotoMark, Touch, World } from "../../src/plan/gestures/gesture";
import type { Cut } from "../../src/plan/gestures/soil";
import { PointerBase, type PointerEventKind } from "../../src/plan/gestures/pointer";
import { type Json, type Op, applyOps } from "../../src/state/ops";
import type { Selection } from "../../src/state/session";

export const METRES_PER_PIXEL = 0.05;

export function pegs(...places: readonly SitePoint[]): Curve {
  return { pegs: places.map(([east, north], at) => ({ id: `p${at + 1}`, east, north })) };
}

/** A pond of four pegs, 20 m square, with an island in it, two shots, a tree and a fence. */
export function smallJob(): Job {
  return {
    format: 1,
    id: "small",
    name: "Small (invented)",
    shown_units: "metric",
    site: {
      shots: {
        s1: { place: { by: "coordinates", east: 30, north: 10 }, elevation: 100 },
        s2: { place: { by: "coordinates", east: 34, north: 14 }, elevation: 101 },
        s3: { place: { by: "coordinates", east: 38, north: 10 }, elevation: 101 },
      },
      things: {
        oak: { kind: "tree", name: "Oak", place: { at: "point", east: -10, north: 0 }, size: 6 },
        fence: { kind: "fence", place: { at: "line", points: [{ east: -20, north: -20 }, { east: 40, north: -20 }] } },
      },
    },
    shape: {
      bodies: {
        pond: {
          outline: { form: "ring", curve: pegs([0, 0], [20, 0], [20, 20], [0, 20]) },
          islands: { isle: pegs([8, 8], [12, 8], [12, 12], [8, 12]) },
          stretches: { wading: { start: "p1", end: "p2", bank_type: "beach" } },
        },
      },
      bank_types: { beach: { points: [{ distance: 0, depth: 0 }] } },
    },
  };
}

interface Manner {
  readonly coarse?: boolean;
  readonly alt?: boolean;
}

/** Feeds records to a gesture, and keeps what it answers. */
export class FakeHand {
  job: Job;
  selection: Selection | null = null;
  preview: readonly Op[] | null = null;
  flags: readonly Flag[] = [];
  photos: readonly PhotoMark[] = [];
  cut: Cut | null = null;
  answers: Answer[] = [];
  labels: string[] = [];
  private readonly base: PointerBase;

  constructor(
    private readonly gesture: Gesture,
    job = smallJob(),
  ) {
    this.job = job;
    this.base = new PointerBase(gesture);
    if (gesture.begin) this.take(gesture.begin(this.world()));
  }

  get last(): Answer {
    return this.answers.at(-1) ?? {};
  }

  /** Everything said last. */
  get says(): string {
    return this.answers.findLast((answer) => answer.says !== undefined)?.says ?? "";
  }

  get holds(): boolean {
    return this.base.holds;
  }

  tap(place: SitePoint, manner: Manner = {}): void {
    this.feed("down", place, manner);
    this.feed("up", place, manner);
  }

  drag(from: SitePoint, to: SitePoint, manner: Manner = {}): void {
    this.feed("down", from, manner);
    this.feed("drag", [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2], manner);
    this.feed("drag", to, manner);
    this.feed("up", to, manner);
  }

  feed(kind: PointerEventKind, place: SitePoint, { coarse = false, alt = false }: Manner = {}): void {
    const touch: Touch = {
      screen: [place[0] / METRES_PER_PIXEL, -place[1] / METRES_PER_PIXEL],
      site: place,
      coarse,
      alt,
      shift: false,
      metresPerPixel: METRES_PER_PIXEL,
    };
    this.take(this.base.feed(kind, touch, this.world()));
  }

  press(key: string, shift = false): void {
    this.key({ key, shift, up: false });
    this.key({ key, shift, up: true });
  }

  key(key: Key): void {
    const answer = this.gesture.key?.(key, this.world());
    if (answer) this.take(answer);
  }

  escape(): void {
    this.take(this.base.cancel(this.world()));
    this.take(this.gesture.cancel?.(this.world()) ?? {});
  }

  /** Peg of a ring of the pond, as east and north. */
  peg(id: string, ring = "outer"): SitePoint | null {
    const peg = this.curve(ring).pegs.find((one) => one.id === id);
    return peg ? [peg.east, peg.north] : null;
  }

  curve(ring = "outer"): Curve {
    const pond = this.job.shape.bodies?.["pond"];
    return (ring === "outer" ? pond?.outline.curve : pond?.islands?.[ring]) as Curve;
  }

  world(): World {
    const shown = this.preview ? applied(this.job, this.preview) : this.job;
    return { job: shown, selection: this.selection, units: "metric", flags: this.flags, photos: this.photos, cut: this.cut };
  }

  private take(answer: Answer): void {
    this.answers.push(answer);
    if (answer.commit) {
      this.job = applied(this.job, answer.commit.ops);
      this.labels.push(answer.commit.label);
      this.preview = null;
    } else if (answer.preview !== undefined) this.preview = answer.preview;
    if (answer.selection !== undefined) this.selection = answer.selection;
  }
}

function applied(job: Job, ops: readonly Op[]): Job {
  return applyOps(job as unknown as Json, ops) as unknown as Job;
}
