/** The box of a probe: what it went through, from the top down, and where the water stood. */

import { html, nothing } from "lit";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { say as sayWord } from "../format/words";
import type { Template } from "../panels/view";
import { openLeaf } from "../state/desk";
import type { Boxed } from "./box";
import { removed } from "./gestures/choose";
import { say } from "./say";

export function probeBox({ session, hand }: Boxed, job: Job, id: string): Template {
  const probe = job.site.probes?.[id];
  if (!probe) return nothing;
  const figures = session.figures.value;
  const height = (name: string): Template => {
    const value = figures[`site.layers.probes.${id}.${name.toLowerCase()}`];
    return value === undefined ? nothing : html`<div class="line"><dt>${say(`plan.box.probe${name as "Ground" | "Bottom" | "Water"}`)}</dt><dd>${shown(value, "elevation", session.waterLine.value)}</dd></div>`;
  };
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${say("plan.box.probe", { id })} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${probe.name || say("plan.box.probe", { id })}</h3>
    ${(probe.layers ?? []).length === 0 ? html`<p class="quiet">${say("plan.box.probeNoLayers")}</p>` : nothing}
    <ol class="layers-of-probe" data-testid="probe-layers">
      ${(probe.layers ?? []).map(({ kind, thickness }) => html`<li>${say("plan.box.layer", { kind: sayWord(`soil.${kind}`), thickness: shown(thickness, "length") })}</li>`)}
    </ol>
    <dl class="lines">${height("Ground")} ${height("Water")} ${height("Bottom")}</dl>
    <div class="buttons">
      <button type="button" @click=${() => openLeaf({ kind: "site-page", name: "old" })}>${say("plan.box.oldPond")}</button>
      <button type="button" @click=${() => hand.typed(removed)}>${say("plan.box.takeOut")}</button>
      <button type="button" @click=${() => hand.letGo()}>${say("plan.box.letGo")}</button>
    </div>
  </form>`;
}
