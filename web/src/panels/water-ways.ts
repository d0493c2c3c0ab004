/** Ways out for a liner that is lifted, each with its numbers and one press; and routes for a drain that falls. */

import { html, nothing } from "lit";
import { percent, shown } from "../format/shown";
import { writeNumber } from "../format/numbers";
import { said, say } from "../format/words";
import type { Offer, OffersOfBody, RouteFound } from "../plan/water-fields";
import { attempt } from "../state/changes";
import { closeLeaves, lit } from "../state/desk";
import { narrow } from "../state/narrow";
import { routeShown } from "../state/water-shown";
import type { Template } from "./view";
import type { Watered } from "./water-parts";

export function waysOutPart({ session, job }: Watered, told: readonly OffersOfBody[] | null): Template {
  const waits = told === null || session.frame.value?.header.stages["groundwater.offers"] === "stale";
  return html`<h3>${say("groundwater.waysOut")}</h3>
    ${waits ? html`<p class="quiet">${say("groundwater.waysWait")}</p>` : nothing}
    ${told === null
      ? nothing
      : told.length === 0
        ? html`<p class="quiet" data-testid="no-ways">${say("groundwater.noWays")}</p>`
        : html`<p class="quiet">${say("groundwater.waysOutSay")}</p>
            ${told.map(
              ({ body, offers }) => html`${told.length > 1 ? html`<h4>${job.shape.bodies?.[body]?.name || body}</h4>` : nothing}
                <ol class="offers" data-testid="offers-${body}">
                  ${offers.map((offer) => html`<li data-offer=${offer.id}>${offerPart(session, offer, waits)}</li>`)}
                </ol>`,
            )}
            <p class="quiet">${say("groundwater.offerCaution")}</p>`}`;
}

function offerPart(session: Watered["session"], offer: Offer, waits: boolean): Template {
  const says = said(offer.says);
  if (offer.refused) return html`<p>${says}. <span class="quiet">${say("groundwater.refused", { why: said(offer.refused) })}</span></p>`;
  const take = (): void => void attempt(session, says.slice(0, 200), offer.ops);
  return html`<p>${says}.</p>
    <p class="quiet"><b>${say(offer.holds ? "groundwater.offerHolds" : "groundwater.offerNot")}</b>: ${numbersOf(offer, session.waterLine.value).join(", ")}</p>
    <button type="button" class=${offer.holds ? "primary" : ""} data-testid="take-${offer.id}" ?disabled=${waits} aria-label=${say("groundwater.takeThis", { what: says })} @click=${take}>
      ${say("groundwater.take")}
    </button>`;
}

/** Numbers of a way out, as the whole model gives them. */
export function numbersOf({ net, mark, flow }: Offer, waterLine: number | null): string[] {
  return [
    net === null ? say("groundwater.offerFree") : say("groundwater.offerNet", { net: writeNumber(net, 1) }),
    mark === null ? say("groundwater.offerEmpty") : say("groundwater.offerMark", { mark: shown(mark, "elevation", waterLine) }),
    ...(flow === null || flow <= 0 ? [] : [say("groundwater.offerFlow", { flow: shown(flow, "flow") })]),
  ];
}

function show(points: RouteFound["points"]): void {
  routeShown.value = true;
  lit.value = [...points];
  if (narrow.value) closeLeaves();
}

export function routesPart({ session, job, figures }: Watered, told: { readonly routes: readonly RouteFound[]; readonly stuck: readonly string[] } | null): Template {
  if (told === null || told.routes.length + told.stuck.length === 0) return nothing;
  const outletName = (id: string): string => job.groundwater?.outlets?.[id]?.name || id;
  const line = ({ name, outlet, points, crosses, ops }: RouteFound): Template => {
    const of = (figure: string): number | undefined => figures[`groundwater.route.routes.${name}.${figure}`];
    const says = say("groundwater.routeSays", {
      length: shown(of("length"), "length"), outlet: outletName(outlet), fall: percent(of("fall") ?? 0), deepest: shown(of("deepest"), "length"), dug: shown(of("dug"), "soil volume"),
    });
    return html`<li>
      <p>${says}.</p>
      ${crosses.length > 0 ? html`<p class="quiet">${say("groundwater.routeCrosses", { what: crosses.map(said).join(", ") })}</p>` : nothing}
      <div class="buttons">
        <button type="button" @click=${() => show(points)}>${say("groundwater.routeShow")}</button>
        <button type="button" data-testid="lay-${name}" @click=${() => attempt(session, say("groundwater.routeLay"), ops)}>${say("groundwater.routeLay")}</button>
      </div>
    </li>`;
  };
  return html`<h4>${say("groundwater.route")}</h4>
    <ul class="offers">${told.routes.map(line)}</ul>
    ${told.stuck.map((place) => html`<p class="quiet">${say("groundwater.routeStuck", { place })}</p>`)}`;
}
