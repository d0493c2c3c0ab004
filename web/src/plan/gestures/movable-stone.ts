/** Stones, piles of stone and standing places of machines in the hand: moved, and stones turned. */

import type { Job } from "../../api/types";
import { type Op, pointer } from "../../state/ops";
import type { Selection } from "../../state/session";
import { bearing, distance } from "../plane";
import { json } from "../rings";
import { say } from "../say";
import { type StonePlace, handleOf, isStoneKind, piecesOf, liftersOf, stoneAt, stonePlaces, turnOf } from "../stones";
import { type Touch, type World, target } from "./gesture";
import type { Movable } from "./movable";

/** Number that stands for the ring which turns a stone. */
export const TURN = 1;

export function chosenStone(job: Job, selection: Selection | null): StonePlace | null {
  if (!selection || !isStoneKind(selection.kind)) return null;
  return stonePlaces(job).find(({ kind, id, at }) => kind === selection.kind && id === selection.id && (kind !== "stand" || at === (selection.at ?? 0))) ?? null;
}

/** The chosen stone, its ring, a pile or a standing place. */
export function movableStone(job: Job, selection: Selection | null): Movable | null {
  const chosen = chosenStone(job, selection);
  if (!chosen) return null;
  return chosen.kind === "stone" && selection?.at === TURN ? ringOfStone(job, chosen) : whole(job, chosen);
}

function whole(job: Job, chosen: StonePlace): Movable {
  return {
    point: chosen.point,
    selection: selectionOf(chosen),
    label: say("plan.label.moveStone", { name: chosen.name }),
    snaps: false,
    ops: ([east, north]) => placeOps(job, chosen, east, north),
  };
}

function selectionOf({ kind, id, at }: StonePlace): Selection {
  return { kind, id, ...(kind === "stand" ? { at: at ?? 0 } : {}) };
}

function placeOps(job: Job, { kind, id, at }: StonePlace, east: number, north: number): Op[] {
  if (kind === "stand") {
    const stands = (liftersOf(job)[id]?.stands ?? []).map((one, number) => (number === at ? { east, north } : one));
    return [{ op: "add", path: pointer("stone", "lifters", id, "stands"), value: json(stands) }];
  }
  return [{ op: "add", path: pointer("stone", kind === "stone" ? "pieces" : "piles", id, "place"), value: { at: "point", east, north } }];
}

function ringOfStone(job: Job, chosen: StonePlace): Movable | null {
  const row = piecesOf(job)[chosen.id];
  if (!row) return null;
  return {
    point: handleOf(row, chosen.point, turnOf(job, row, chosen.point)),
    selection: { kind: "stone", id: chosen.id, at: TURN },
    label: say("plan.label.turnStone", { name: chosen.name }),
    snaps: false,
    ops: (to) => [{ op: "add", path: pointer("stone", "pieces", chosen.id, "turn"), value: rounded(bearing(chosen.point, to)) }],
  };
}

/** A hundredth of a degree is finer than any hand. */
function rounded(angle: number): number {
  return Math.round(angle * 1e4) / 1e4;
}

/** What of the chosen stone lies under a press, its ring or itself, whichever is nearer. What is not chosen is pressed before it is dragged. */
export function movableStoneAt(touch: Touch, { job, selection }: World): Movable | null {
  const chosen = chosenStone(job, selection);
  if (!chosen) return null;
  const ring = chosen.kind === "stone" ? ringOfStone(job, chosen) : null;
  const away = ring ? distance(ring.point, touch.site) : Infinity;
  if (ring && away <= target(touch) && away < distance(chosen.point, touch.site)) return ring;
  const under = stoneAt(job, touch.site, target(touch));
  return under && under.kind === chosen.kind && under.id === chosen.id && under.at === chosen.at ? whole(job, chosen) : null;
}

export function stoneWords(selection: Selection, job: Job): string {
  const chosen = chosenStone(job, selection);
  return chosen ? say(`plan.chosen.${chosen.kind}`, { name: chosen.name }) : "";
}

/** Take the place of a stone or pile away, or a standing place out; the stone itself stays on the list. */
export function stoneOutOps(job: Job, selection: Selection): Op[] | null {
  const chosen = chosenStone(job, selection);
  if (!chosen) return null;
  if (chosen.kind !== "stand") return [{ op: "remove", path: pointer("stone", chosen.kind === "stone" ? "pieces" : "piles", chosen.id, "place") }];
  const stands = (liftersOf(job)[chosen.id]?.stands ?? []).filter((_, number) => number !== chosen.at);
  return [{ op: "add", path: pointer("stone", "lifters", chosen.id, "stands"), value: json(stands) }];
}
