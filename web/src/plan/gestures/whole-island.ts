/** Move an island whole: drag it, or choose it and tap where its middle is to be. */

import type { SitePoint } from "../../geometry/types";
import type { Op } from "../../state/ops";
import type { Selection } from "../../state/session";
import { type Ring, middleOf, replaceRing, ringOf, shifted } from "../rings";
import { say } from "../say";
import type { Answer, Touch, World } from "./gesture";
import { ringOfSelection } from "./peg";

export function islandSelection({ body, ring }: Ring): Selection {
  return { kind: "body", id: ring, body, ring };
}

export class HeldIsland {
  private ops: readonly Op[] = [];

  constructor(
    private readonly ring: Ring,
    private readonly from: SitePoint,
  ) {}

  drag(touch: Touch): Answer {
    const by: SitePoint = [touch.site[0] - this.from[0], touch.site[1] - this.from[1]];
    this.ops = [replaceRing(this.ring, shifted(this.ring.curve, by))];
    return { preview: this.ops, selection: islandSelection(this.ring) };
  }

  drop(): Answer {
    return { commit: { label: say("plan.label.moveIsland", { id: this.ring.ring }), ops: this.ops } };
  }
}

/** Put the middle of the chosen island at a place. */
export function islandTo(world: World, point: SitePoint): Answer {
  const name = ringOfSelection(world.selection);
  const ring = name && ringOf(world.job, name);
  if (!ring) return {};
  const middle = middleOf(ring.curve);
  const by: SitePoint = [point[0] - middle[0], point[1] - middle[1]];
  return { commit: { label: say("plan.label.moveIsland", { id: ring.ring }), ops: [replaceRing(ring, shifted(ring.curve, by))] } };
}
