/** Move the chosen peg or point by the arrow keys; the edit is made when the key comes up. */

import type { ShownUnits } from "../../api/types";
import type { SitePoint } from "../../geometry/types";
import type { Op } from "../../state/ops";
import { pegPoint, replaceRing, ringOf, withPegAt } from "../rings";
import { say } from "../say";
import type { Answer, Key, World } from "./gesture";
import { movableOf } from "./movable";
import { ringOfSelection } from "./peg";

const ARROWS: Readonly<Record<string, SitePoint>> = {
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
};

/** A coarse and a fine step in metres, round in the units shown. */
export function steps(units: ShownUnits): readonly [number, number] {
  if (units === "metric") return [0.1, 0.01];
  return units === "us" ? [0.3048 / 2, 0.3048 / 20] : [0.0254 * 6, 0.0254];
}

export class Nudge {
  private ops: readonly Op[] | null = null;

  constructor(
    /** Turn of the view, so that up is up on the screen. */
    private readonly rotation: () => number,
  ) {}

  key({ key, shift, up }: Key, world: World): Answer | null {
    const arrow = ARROWS[key];
    const held = arrow && heldBy(world);
    if (!arrow || !held) return null;
    if (up) return this.drop(held);
    const [coarse, fine] = steps(world.units);
    const step = shift ? fine : coarse;
    const angle = this.rotation();
    const [right, upward] = [arrow[0] * step, arrow[1] * step];
    const [east, north] = held.point;
    const to: SitePoint = [
      east + right * Math.cos(angle) + upward * Math.sin(angle),
      north - right * Math.sin(angle) + upward * Math.cos(angle),
    ];
    this.ops = held.ops(to);
    return { preview: this.ops, says: held.says };
  }

  /** Drop what was nudged but not yet kept. */
  cancel(): void {
    this.ops = null;
  }

  private drop({ label }: Nudged): Answer {
    const { ops } = this;
    this.ops = null;
    return ops === null ? {} : { commit: { label, ops } };
  }
}

interface Nudged {
  readonly point: SitePoint;
  readonly label: string;
  readonly says: string;
  ops(to: SitePoint): readonly Op[];
}

/** The point that the arrow keys move: a peg, or another chosen point. */
function heldBy({ job, selection }: World): Nudged | null {
  const movable = movableOf(job, selection);
  if (movable) return { ...movable, says: say("plan.nudgedPoint") };
  const name = selection?.kind === "peg" ? ringOfSelection(selection) : null;
  const ring = name && ringOf(job, name);
  const peg = ring?.curve.pegs.find((one) => one.id === selection?.id);
  if (!ring || !peg) return null;
  return {
    point: pegPoint(peg),
    label: say("plan.label.movePeg", { id: peg.id }),
    says: say("plan.nudged", { id: peg.id }),
    ops: (to) => [replaceRing(ring, withPegAt(ring.curve, peg.id, to))],
  };
}
