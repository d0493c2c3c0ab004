/** Piles and gates on the plan: draw a pile, drag either, and drag the line of the section. */

import { say as sayWord } from "../../format/words";
import type { SitePoint } from "../../geometry/types";
import { type Op, pointer } from "../../state/ops";
import { distance, nearestOnLine } from "../plane";
import { calledBy, freeId, json } from "../rings";
import { say } from "../say";
import { type SoilPlace, middleOfPlace, pathOfSoil, pileRow, soilOps } from "../soil-places";
import type { Answer, Touch, World } from "./gesture";
import { Path } from "./path";

export class DrawPile extends Path {
  readonly tool = "pile";
  protected override readonly least = 1;
  protected override readonly closed = true;

  protected instruction(): string {
    return say("plan.draw.pile");
  }

  override finish(world: World): Answer {
    return this.places.length === 0 ? { says: this.instruction() } : super.finish(world);
  }

  protected made({ job }: World): Answer {
    const id = freeId("pile_", Object.keys(job.earth?.piles ?? {}));
    const commit = { label: say("plan.label.pile", { id: calledBy(id) }), ops: [{ op: "add" as const, path: pathOfSoil("pile", id), value: pileRow(this.places) }] };
    return { commit, sketch: null, mark: null, done: true, selection: { kind: "pile", id }, says: say("plan.drawn", { id: calledBy(id) }) };
  }
}

/** A pile or gate in the hand. */
export class HeldSoil {
  private ops: readonly Op[] = [];

  constructor(
    private readonly place: SoilPlace,
    private readonly from: SitePoint,
  ) {}

  drag(touch: Touch): Answer {
    const [east, north] = middleOfPlace(this.place.place);
    this.ops = soilOps(this.place, [east + touch.site[0] - this.from[0], north + touch.site[1] - this.from[1]]);
    return { preview: this.ops, selection: { kind: this.place.kind, id: this.place.id } };
  }

  drop(): Answer {
    return { commit: { label: say("plan.label.moveSoil", { name: this.place.name }), ops: this.ops } };
  }
}

export interface Cut {
  readonly line: readonly SitePoint[];
  /** Row that keeps it, or null when nobody kept it. */
  readonly id: string | null;
}

/** Number of the place of a section that a press hits; -1 for the line as a whole, null for none of it. */
export function sectionPart({ line }: Cut, at: SitePoint, within: number): number | null {
  const places = line.map((place) => distance(place, at));
  const nearest = places.indexOf(Math.min(...places));
  if ((places[nearest] ?? Infinity) <= within) return nearest;
  return (nearestOnLine(line, at)?.distance ?? Infinity) <= within ? -1 : null;
}

/** A line with one place, or all of it, moved. */
export function movedSection(line: readonly SitePoint[], part: number, [east, north]: SitePoint): SitePoint[] {
  return line.map((place, at): SitePoint => (part < 0 || at === part ? [place[0] + east, place[1] + north] : place));
}

/** The section in the hand: the cut follows it; a kept one is one edit at the drop. */
export class HeldSection {
  private line: readonly SitePoint[];

  constructor(
    private readonly cut: Cut,
    private readonly part: number,
    private readonly from: SitePoint,
  ) {
    this.line = cut.line;
  }

  drag(touch: Touch): Answer {
    this.line = movedSection(this.cut.line, this.part, [touch.site[0] - this.from[0], touch.site[1] - this.from[1]]);
    return { section: this.line, selection: { kind: "section", id: "section" }, says: say("plan.sectionMoves") };
  }

  drop(): Answer {
    const { id } = this.cut;
    if (id === null) return {};
    return { commit: { label: sayWord("section.move"), ops: sectionOps(id, this.line) } };
  }

  /** The line as it was, when the hand lets go of it. */
  undone(): Answer {
    return { section: this.cut.line };
  }
}

/** Operation that puts another line under a kept section. */
export function sectionOps(id: string, line: readonly SitePoint[]): Op[] {
  return [{ op: "add", path: pointer("shape", "sections", id, "line"), value: json(pointsOf(line)) }];
}

export function pointsOf(line: readonly SitePoint[]): readonly { readonly east: number; readonly north: number }[] {
  return line.map(([east, north]) => ({ east, north }));
}
