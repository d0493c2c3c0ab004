/** The box of a pile or gate: where it is, what comes to it, and the way to all about it. */

import { html, nothing } from "lit";
import type { Job } from "../api/types";
import { say as sayWord } from "../format/words";
import { numberBox } from "../panels/boxes";
import { figureLine } from "../panels/figures";
import type { Template } from "../panels/view";
import { attempt } from "../state/changes";
import { openLeaf } from "../state/desk";
import type { Boxed } from "./box";
import { removed } from "./gestures/choose";
import { say } from "./say";
import { middleOfPlace, soilOps, soilPlace } from "./soil-places";

export function soilBox({ session, hand }: Boxed, job: Job, kind: "pile" | "gate", id: string): Template {
  const place = soilPlace(job, kind, id);
  if (place === null) return nothing;
  const [east, north] = middleOfPlace(place.place);
  const move = (toEast: number | null, toNorth: number | null): boolean =>
    toEast !== null && toNorth !== null && attempt(session, say("plan.label.moveSoil", { name: place.name }), soilOps(place, [toEast, toNorth]));
  const stem = `earth.haul.${kind === "pile" ? "piles" : "gates"}.${id}`;
  const row = `earth.${kind === "pile" ? "piles" : "off_site"}.${id}`;
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${place.name} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${sayWord(`soilwork.${kind}`)} ${place.name}</h3>
    ${numberBox({ id: "soil-east", label: say("plan.box.east"), kind: "length", value: east, needed: true, set: (value) => move(value, north) })}
    ${numberBox({ id: "soil-north", label: say("plan.box.north"), kind: "length", value: north, needed: true, set: (value) => move(east, value) })}
    <dl class="lines">${figureLine(session, `${stem}.loose`)} ${figureLine(session, kind === "pile" ? `${stem}.footprint` : `${stem}.loads`)}</dl>
    <div class="buttons">
      <button type="button" data-testid="soil-more" @click=${() => openLeaf({ kind: "earth", row })}>${say("plan.box.more")}</button>
      <button type="button" @click=${() => hand.typed(removed)}>${say("plan.box.takeOut")}</button>
      <button type="button" @click=${() => hand.letGo()}>${say("plan.box.letGo")}</button>
    </div>
  </form>`;
}
