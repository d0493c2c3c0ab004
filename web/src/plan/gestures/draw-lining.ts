/** Draw what belongs to the liner: a line along which the hole is taped, a guard against roots or animals. */

import type { GuardKind } from "../../api/lining";
import type { SitePoint } from "../../geometry/types";
import { format } from "../../format/units";
import { type Signal, signal } from "../../state/signal";
import { builtPath, linedOf } from "../built";
import { placeThrough } from "../line-kinds";
import { lengthOf } from "../plane";
import { calledBy, freeId, json } from "../rings";
import { say } from "../say";
import type { Answer, World } from "./gesture";
import { Path } from "./path";

/** What the next guard is against, and how deep it reaches [m]. */
export const guardInHand: Signal<{ readonly kind: GuardKind; readonly depth: number }> = signal<{ readonly kind: GuardKind; readonly depth: number }>({ kind: "root", depth: 0.6 });

abstract class LinedLine extends Path {
  abstract override readonly tool: "tape" | "guard";
  private taken: readonly string[] = [];

  override begin(world: World): Answer {
    this.taken = linedOf(world.job)
      .filter(({ kind }) => kind === this.tool)
      .map(({ id }) => id);
    return super.begin(world);
  }

  protected instruction(): string {
    return say(`plan.draw.${this.tool}`);
  }

  protected override told(places: readonly SitePoint[], { units }: World): string {
    return places.length < 2 ? this.instruction() : say("plan.onThePlan", { length: format(lengthOf(places), "length", units) });
  }

  protected made(): Answer {
    const id = freeId(`${this.tool}_`, this.taken);
    const value = json({ place: placeThrough(this.places, false), ...this.more() });
    const commit = { label: say("plan.label.shoreline", { id: calledBy(id) }), ops: [{ op: "add" as const, path: builtPath(this.tool, id), value }] };
    return { commit, sketch: null, mark: null, done: true, selection: { kind: this.tool, id }, says: say("plan.fillTheBox") };
  }

  /** Fields that it has beside its place. */
  protected abstract more(): object;
}

export class DrawTape extends LinedLine {
  readonly tool = "tape";

  protected more(): object {
    return {};
  }
}

export class DrawGuard extends LinedLine {
  readonly tool = "guard";

  protected more(): object {
    return guardInHand.value;
  }
}
