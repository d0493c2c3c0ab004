/** Bend a shoreline by a peg in it: drag it, tap it and then a place, put one in, take one out. */

import type { Curve } from "../../api/types";
import type { SitePoint } from "../../geometry/types";
import type { Op } from "../../state/ops";
import type { Selection } from "../../state/session";
import {
  OUTER,
  type Ring,
  type RingName,
  insertOps,
  removeOps,
  replaceRing,
  ringOf,
  withCornerTurned,
  withPegAfter,
  withPegAt,
} from "../rings";
import { say } from "../say";
import { reach, snapped } from "../snap";
import type { Answer, Touch, World } from "./gesture";
import type { CurveHit } from "./hit";

/** Ring that the chosen peg is on. */
export function ringOfSelection(selection: Selection | null): RingName | null {
  return selection?.body === undefined ? null : { body: selection.body, ring: selection.ring ?? OUTER };
}

export function pegSelection({ body, ring }: RingName, id: string): Selection {
  return { kind: "peg", id, body, ring };
}

/** Where a peg that follows the pointer comes to lie. Alt leaves it free. */
export function placeFor(touch: Touch, world: World, except: RingName, free = touch.alt): { point: SitePoint; says: string; on: boolean } {
  const on = free ? null : snapped(world.job, touch.site, reach(touch.metresPerPixel, touch.coarse), except);
  return on ? { ...on, on: true } : { point: touch.site, says: "", on: false };
}

/** A peg in the hand: from the press to the drop. */
export class HeldPeg {
  private ops: readonly Op[] = [];

  private constructor(
    private readonly name: RingName,
    private readonly curve: Curve,
    private readonly peg: string,
    /** From the pointer to the peg, so that it does not jump when it is gripped off its middle. */
    private readonly grip: SitePoint,
    private readonly opsOf: (curve: Curve) => Op[],
    private readonly label: string,
  ) {}

  /** Take hold of a peg that is there. */
  static of(ring: Ring, peg: string, at: SitePoint, touch: Touch): HeldPeg {
    const grip: SitePoint = [at[0] - touch.site[0], at[1] - touch.site[1]];
    return new HeldPeg(ring, ring.curve, peg, grip, (curve) => [replaceRing(ring, curve)], say("plan.label.movePeg", { id: peg }));
  }

  /** Put in a peg where the curve was pressed, and take hold of it. */
  static inserted({ ring, after, point }: CurveHit, world: World): HeldPeg {
    const { curve, id } = withPegAfter(ring.curve, after, point);
    const opsOf = (bent: Curve): Op[] => insertOps(world.job, ring, after, bent);
    const held = new HeldPeg(ring, curve, id, [0, 0], opsOf, say("plan.label.insertPeg", { id }));
    held.ops = opsOf(curve);
    return held;
  }

  get selection(): Selection {
    return pegSelection(this.name, this.peg);
  }

  drag(touch: Touch, world: World): Answer {
    const aimed = { ...touch, site: [touch.site[0] + this.grip[0], touch.site[1] + this.grip[1]] as SitePoint };
    const { point, says, on } = placeFor(aimed, world, this.name);
    this.ops = this.opsOf(withPegAt(this.curve, this.peg, point));
    return { preview: this.ops, selection: this.selection, says, mark: on ? point : null };
  }

  drop(): Answer {
    return { commit: { label: this.label, ops: this.ops }, selection: this.selection, mark: null };
  }
}

/** Put the chosen peg at a place, at once. */
export function pegTo(world: World, point: SitePoint, says = ""): Answer {
  const { selection } = world;
  const name = ringOfSelection(selection);
  const ring = name && ringOf(world.job, name);
  if (!selection || !ring) return {};
  const ops = [replaceRing(ring, withPegAt(ring.curve, selection.id, point))];
  return { commit: { label: say("plan.label.movePeg", { id: selection.id }), ops }, says };
}

/** Take the chosen peg out. */
export function pegOut(world: World): Answer {
  const { selection } = world;
  const name = ringOfSelection(selection);
  if (!selection || !name) return {};
  const ops = removeOps(world.job, name, selection.id);
  if (ops === null) return { says: say("plan.tooFewPegs") };
  return { commit: { label: say("plan.label.removePeg", { id: selection.id }), ops }, selection: null };
}

/** Let the shore break at the chosen peg, or run on smoothly again. */
export function cornerTurned(world: World): Answer {
  const { selection } = world;
  const name = ringOfSelection(selection);
  const ring = name && ringOf(world.job, name);
  if (!selection || !ring) return {};
  const ops = [replaceRing(ring, withCornerTurned(ring.curve, selection.id))];
  return { commit: { label: say("plan.label.corner", { id: selection.id }), ops } };
}

/** The next peg along the ring, or the one before. */
export function neighbour(world: World, step: 1 | -1): Answer {
  const { selection } = world;
  const name = ringOfSelection(selection);
  const ring = name && ringOf(world.job, name);
  if (!selection || !ring) return {};
  const pegs = ring.curve.pegs;
  const at = pegs.findIndex((peg) => peg.id === selection.id);
  const next = pegs[(at + step + pegs.length) % pegs.length];
  return next ? { selection: pegSelection(ring, next.id), says: say("plan.chosen.peg", { id: next.id }) } : {};
}
