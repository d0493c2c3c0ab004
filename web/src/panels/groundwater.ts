/** Water under it: whether the groundwater lifts a liner, how far the pond may be pumped, and what leads it away. */

import { html, nothing } from "lit";
import type { Season } from "../api/water";
import { writeNumber } from "../format/numbers";
import { say } from "../format/words";
import { groundShown } from "../plan/shown-layers";
import { newestTold, offersOf, routesOf } from "../plan/water-fields";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { POND_STAGES, flowShown, headsShown, upliftStage } from "../state/water-shown";
import { choiceBox, tickBox } from "./boxes";
import { figureButton, figureLine } from "./figures";
import { type Dispose, type Template, mountView } from "./view";
import { buildingPart, gasPart } from "./water-building";
import { DRAINS, type DrainsAre, SEASONS, type StageRow, type Watered, checksOf, excessWords, isStream, knownBodies, stageRows } from "./water-parts";
import { drainsPart, readingsPart } from "./water-rows";
import { routesPart, waysOutPart } from "./water-ways";

/** Case that the tables tell: the worst that is planned for, until somebody asks for another. */
const season: Signal<Season> = signal<Season>("wet");
const drainsAre: Signal<DrainsAre> = signal<DrainsAre>("working");

const ARRAYS = ["offers", "routes"] as const;

export function mountGroundwater(host: HTMLElement, session: Session): Dispose {
  const [readOffers, readRoutes] = [newestTold(offersOf), newestTold(routesOf)];
  for (const name of ARRAYS) session.want(name, true, "groundwater");
  const stop = mountView(host, () => {
    const job = session.shown.value;
    const frame = session.frame.value;
    const [offers, routes] = [readOffers(frame), readRoutes(frame)];
    if (job === null) return nothing;
    const water: Watered = { session, job, figures: session.figures.value };
    return html`<p class="quiet">${say("groundwater.lead")}</p>
      ${holdsPart(water)} ${waysOutPart(water, offers)} ${routesPart(water, routes)} ${drainsPart(water)} ${readingsPart(water)} ${buildingPart(water)} ${gasPart(water)}`;
  });
  return () => {
    for (const name of ARRAYS) session.want(name, false, "groundwater");
    stop();
  };
}

function holdsPart(water: Watered): Template {
  const { job, figures, session } = water;
  const bodies = knownBodies(job, figures);
  const head = html`<h3>${say("groundwater.holds")}</h3>`;
  if (Object.keys(job.groundwater?.readings ?? {}).length === 0) return html`${head}<p data-testid="no-reading">${say("groundwater.noReading")}</p>`;
  if (Object.keys(job.shape.bodies ?? {}).length === 0) return html`${head}<p class="quiet">${say("groundwater.noBody")}</p>`;
  if (bodies.length === 0) return html`${head}<p class="quiet">${say("groundwater.wait")}</p>`;
  return html`${head} ${bodies.map((body) => bodyPart(water, body, bodies.length > 1))} ${stagesPart(water, bodies)} ${onPlanPart()}
    <dl class="lines">${figureLine(session, "groundwater.heads.seepage", say("groundwater.comesOut"))}</dl>`;
}

function bodyPart(water: Watered, body: string, several: boolean): Template {
  const { session, job, figures } = water;
  const name = job.shape.bodies?.[body]?.name || body;
  const stem = `groundwater.range.bodies.${body}.cases`;
  const excess = (one: Season): Template => {
    const path = `${stem}.${one}_working.stages.full.excess_likely`;
    const value = figures[path];
    return value === undefined ? nothing : html`<div class="line"><dt>${say(`groundwater.${one}Now`)}</dt><dd data-testid="excess-${body}-${one}">${excessWords(value)}</dd></div>`;
  };
  const stone = figures[`groundwater.uplift.bodies.${body}.stages.service.stone`];
  return html`${several ? html`<h4>${name}</h4>` : nothing}
    ${checksOf(session, ({ code, where }) => code.startsWith("groundwater.uplift") && where.paths[0] === `shape.bodies.${body}`)}
    <dl class="lines">
      ${SEASONS.map(excess)} ${isStream(job, body) ? nothing : SEASONS.map((one) => markLine(water, body, one))}
      ${stone === undefined
        ? nothing
        : html`<div class="line"><dt>${say("groundwater.stone")}</dt><dd>${stone > 0 ? figureButton(session, `groundwater.uplift.bodies.${body}.stages.service.stone`, say("groundwater.stone"), "length", stone) : say("groundwater.stoneNone")}</dd></div>`}
    </dl>`;
}

/** One table for each body, all of the same case. */
function stagesPart(water: Watered, bodies: readonly string[]): Template {
  return html`<h4>${say("groundwater.stages")}</h4>
    ${casePart()} ${bodies.map((body) => stageTable(water, body, water.job.shape.bodies?.[body]?.name || body))}`;
}

/** The mark by the high groundwater, because a rule must hold. */
function markLine({ session, figures }: Watered, body: string, one: Season): Template {
  const stem = `groundwater.range.bodies.${body}.cases.${one}_working`;
  if (figures[`${stem}.stages.full.excess_likely`] === undefined) return nothing;
  const mark = figures[`${stem}.mark_high`];
  const label = `${say("groundwater.mark")}, ${say(`groundwater.season.${one}`)}`;
  return html`<div class="line"><dt>${label}</dt><dd data-testid="mark-${body}-${one}">${mark === undefined ? say("groundwater.markFree") : figureButton(session, `${stem}.mark_high`, label, "elevation", mark)}</dd></div>`;
}

function stageTable({ job, figures }: Watered, body: string, name: string): Template {
  const rows = stageRows(job, figures, body, season.value, drainsAre.value);
  const words = { name, season: say(`groundwater.season.${season.value}`), drains: say(`groundwater.drains.${drainsAre.value}`) };
  const number = (value: number | null): string => (value === null ? say("groundwater.noPush") : writeNumber(value, 2));
  const row = ({ stage, low, likely, high, verdict }: StageRow): Template => html`<tr data-stage=${stage} data-verdict=${verdict}>
    <th scope="row">${say(isStream(job, body) && stage === "service" ? "groundwater.stage.dry" : `groundwater.stage.${stage}`)}</th>
    <td>${number(low)}</td>
    <td><b>${number(likely)}</b></td>
    <td>${number(high)}</td>
    <td class="verdict">${say(`groundwater.verdict.${verdict}`)}</td>
  </tr>`;
  return html`<div class="wide" tabindex="0" role="group" aria-label="${say("groundwater.stages")}, ${name}">
      <table class="plain soil-account" data-testid="stages-${body}">
        <caption>${name}</caption>
        <thead><tr>${(["stage", "low", "likely", "high", "verdict"] as const).map((one) => html`<th scope="col">${say(`groundwater.${one}`)}</th>`)}</tr></thead>
        <tbody>${rows.map(row)}</tbody>
      </table>
    </div>
    <p class="quiet">${say("groundwater.stagesSay", words)}</p>`;
}

/** Case that all tables tell. */
function casePart(): Template {
  return html`<div class="row">
    ${choiceBox({ id: "case-season", label: say("groundwater.season"), value: season.value, of: SEASONS.map((one) => [one, say(`groundwater.season.${one}`)] as const), set: (one) => (season.value = one) })}
    ${choiceBox({ id: "case-drains", label: say("groundwater.drainsAre"), value: drainsAre.value, of: DRAINS.map((one) => [one, say(`groundwater.drains.${one}`)] as const), set: (one) => (drainsAre.value = one) })}
  </div>`;
}

/** What of it the plan shows. */
function onPlanPart(): Template {
  const on = groundShown.value === "uplift";
  return html`${tickBox({ id: "show-uplift", label: say("groundwater.showUplift"), value: on, set: (yes) => (groundShown.value = yes ? "uplift" : "moved") })}
    ${on
      ? html`${choiceBox({ id: "uplift-stage", label: say("groundwater.upliftStage"), value: upliftStage.value, of: POND_STAGES.map((stage) => [stage, say(`groundwater.stage.${stage}`)] as const), set: (stage) => (upliftStage.value = stage) })}
          <p class="quiet">${say("groundwater.key")}</p>`
      : nothing}
    ${tickBox({ id: "show-heads", label: say("groundwater.showHeads"), value: headsShown.value, set: (yes) => (headsShown.value = yes) })}
    ${tickBox({ id: "show-flow", label: say("groundwater.showFlow"), value: flowShown.value, set: (yes) => (flowShown.value = yes) })}`;
}
