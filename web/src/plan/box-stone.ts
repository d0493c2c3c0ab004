/** The boxes of what is chosen of the stone, and of a cover in the making. */

import { html, nothing } from "lit";
import type { TreatmentKind } from "../api/stone";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { choiceBox, numberBox } from "../panels/boxes";
import { treatmentRow } from "../panels/stone-cover";
import { KINDS, classChoices, isOfStone, sizeWords } from "../panels/stone-parts";
import { dealtNow, dealtWords } from "../panels/stone-pieces";
import type { Template } from "../panels/view";
import { attempt, newId, setOps } from "../state/changes";
import { openLeaf } from "../state/desk";
import { pointer } from "../state/ops";
import type { Selection } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import type { Boxed } from "./box";
import { removed } from "./gestures/choose";
import { chosenStone, movableStone } from "./gestures/movable-stone";
import { OUTER, json, ringsOf } from "./rings";
import { say } from "./say";
import { piecesOf } from "./stones";

const SECTIONS = { stone: "pieces", heap: "piles", stand: "lifters" } as const;

/** A stone, a pile or a standing place: where it is, which way it lies, and the way to all about it. */
export function stoneBox(boxed: Boxed, job: Job, selection: Selection): Template {
  const { session, hand } = boxed;
  const chosen = chosenStone(job, selection);
  const movable = movableStone(job, { ...selection, ...(chosen?.kind === "stone" ? { at: 0 } : {}) });
  if (!chosen || !movable) return nothing;
  const [east, north] = chosen.point;
  const move = (toEast: number | null, toNorth: number | null): boolean => toEast !== null && toNorth !== null && attempt(session, movable.label, movable.ops([toEast, toNorth]));
  const row = `stone.${SECTIONS[chosen.kind]}.${chosen.id}`;
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${chosen.name} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${chosen.kind === "stand" ? say("stone.standOf", { name: chosen.name }) : chosen.kind === "stone" ? say("stone.stoneCalled", { tag: chosen.name }) : chosen.name}</h3>
    ${chosen.kind === "stone" ? pieceBoxes(boxed, job, chosen.id) : nothing}
    ${numberBox({ id: "stone-east", label: say("plan.box.east"), kind: "length", value: east, needed: true, set: (value) => move(value, north) })}
    ${numberBox({ id: "stone-north", label: say("plan.box.north"), kind: "length", value: north, needed: true, set: (value) => move(east, value) })}
    <div class="buttons">
      <button type="button" data-testid="stone-more" @click=${() => openLeaf({ kind: "stone", row })}>${say("plan.box.more")}</button>
      <button type="button" @click=${() => hand.typed(removed)}>${say("plan.box.takeOut")}</button>
      <button type="button" @click=${() => hand.letGo()}>${say("plan.box.letGo")}</button>
    </div>
  </form>`;
}

function pieceBoxes({ session }: Boxed, job: Job, id: string): Template {
  const row = piecesOf(job)[id];
  if (!row) return nothing;
  const { yard } = dealtNow({ session });
  const mass = row.mass ?? session.figures.value[`stone.yard.stones.${id}.mass`];
  const set = (turn: number | null): boolean => attempt(session, say("plan.label.turnStone", { name: row.tag || id }), setOps(job, ["stone", "pieces", id, "turn"], turn));
  return html`<p>${sizeWords(row)}${mass === undefined ? "" : ` · ${shown(mass, "mass")}`}<br /><span class="quiet">${dealtWords(job, yard, id, row)}</span></p>
    ${numberBox({ id: "stone-turn", label: say("stone.turn"), kind: "angle", value: row.turn ?? null, otherwise: say("stone.alongShore"), set })}`;
}

// A cover from peg to peg.

const kind: Signal<TreatmentKind> = signal<TreatmentKind>("courses");
const stone: Signal<string> = signal("");

export function newTreatmentBox({ session, hand }: Boxed, job: Job): Template {
  const rings = ringsOf(job).filter(({ open }) => !open);
  const held = hand.draft.value?.stretch;
  const ring = rings.find((one) => one.body === held?.body && one.ring === held.ring) ?? rings[0];
  if (!ring) return nothing;
  const pegs = ring.curve.pegs.map(({ id }) => [id, id] as const);
  const [start, end] = [held?.start ?? pegs[0]?.[0] ?? "", held?.end ?? pegs[1]?.[0] ?? ""];
  const draft = (next: Partial<NonNullable<typeof held>>): void => {
    hand.draft.value = { stretch: { body: ring.body, ring: ring.ring, start, end, ...next } };
  };
  const keep = (): void => {
    const place = { at: "stretch" as const, body: ring.body, ...(ring.ring === OUTER ? {} : { ring: ring.ring }), start, end };
    const id = newId(kind.value, job.stone?.treatments ?? {});
    const value = json(treatmentRow(kind.value, place, stone.value));
    if (attempt(session, say("rows.add", { what: say("stone.treatment") }), [{ op: "add", path: pointer("stone", "treatments", id), value }])) tool.value = "select";
  };
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${say("stone.newTreatment")} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${say("stone.newTreatment")}</h3>
    ${choiceBox({ id: "treatment-start", label: say("plan.box.from"), value: start, of: pegs, set: (peg) => draft({ start: peg }) })}
    ${choiceBox({ id: "treatment-end", label: say("plan.box.to"), value: end, of: pegs, set: (peg) => draft({ end: peg }) })}
    ${choiceBox<TreatmentKind>({ id: "treatment-kind", label: say("stone.kind"), value: kind.value, of: KINDS.map((one) => [one, say(`stone.kind.${one}`)] as const), set: (one) => (kind.value = one) })}
    ${isOfStone(kind.value) ? choiceBox({ id: "treatment-class", label: say("stone.shares"), value: stone.value, of: classChoices(job, say("stone.noClass")), set: (one) => (stone.value = one) }) : nothing}
    <div class="buttons">
      <button type="button" class="primary" data-testid="keep-treatment" @click=${keep}>${say("plan.box.keep")}</button>
      <button type="button" @click=${() => (tool.value = "select")}>${say("plan.box.stop")}</button>
    </div>
  </form>`;
}
