/** Readings and drains of the job, to be typed; what the model makes of each stands beside it. */

import { html, nothing } from "lit";
import type { Drain, Reading } from "../api/water";
import { percent, shown } from "../format/shown";
import { say } from "../format/words";
import { endsOf } from "../plan/box-water";
import { readingKind } from "../plan/gestures/draw-water";
import { pointsThrough } from "../plan/line-kinds";
import { closeLeaves, lit } from "../state/desk";
import { narrow } from "../state/narrow";
import type { Json } from "../state/ops";
import { jobAddress } from "../state/route";
import { which } from "./tables";
import { tool } from "../state/tool";
import { showProfile } from "../state/water-shown";
import { choiceBox, numberBox, textBox, tickBox } from "./boxes";
import { figureLine } from "./figures";
import { type RowsOf, fieldSetter, foldedRow, removeButton } from "./rows";
import type { Template } from "./view";
import { SEASONS, type Watered, levelWords, missWords, missesOf } from "./water-parts";

function rowsAt({ session, job }: Watered, section: "readings" | "drains", label: string): RowsOf {
  return { session, job, at: ["groundwater", section], label };
}

// Readings.

export function readingsPart(water: Watered): Template {
  const readings = Object.entries(water.job.groundwater?.readings ?? {});
  return html`<h3>${say("groundwater.readings")}</h3>
    <p class="quiet">${say("groundwater.readingsSay")}</p>
    ${readings.map(([id, row]) => readingEntry(water, id, row))}
    <button type="button" data-testid="draw-reading" @click=${() => ((readingKind.value = "standpipe"), (tool.value = "reading"))}>${say("groundwater.drawReading")}</button>`;
}

function readingEntry(water: Watered, id: string, row: Reading): Template {
  const rows = rowsAt(water, "readings", say("groundwater.reading"));
  const set = fieldSetter(rows, id);
  const waterLine = water.session.waterLine.value;
  const misses = missesOf(water.figures, id).map(missWords);
  const flows = row.kind === "seep" || row.kind === "spring";
  const head = html`<b>${row.name || id}</b> <span class="quiet">${[levelWords(row, waterLine), ...misses].filter(Boolean).join(" · ")}</span>`;
  return foldedRow(
    rows,
    id,
    head,
    html`${textBox({ id: `readings-${id}-name`, label: say("soilwork.name"), value: row.name ?? "", otherwise: id, set: set("name") })}
      <div class="row">
        ${SEASONS.map((season) => numberBox({ id: `readings-${id}-${season}`, label: say(`groundwater.${season}Level`), kind: "elevation", value: row[season] ?? null, waterLine, set: set(season) }))}
        ${flows ? SEASONS.map((season) => numberBox({ id: `readings-${id}-${season}_flow`, label: say(`groundwater.${season}Flow`), kind: "flow", value: row[`${season}_flow`] ?? null, set: set(`${season}_flow`) })) : nothing}
      </div>
      ${SEASONS.map((season) => flowLine(water, id, season))}
      <div class="buttons">${showButton(row)} ${removeButton(rows, id, row.name || id)}</div>`,
  );
}

function flowLine({ figures }: Watered, id: string, season: "dry" | "wet"): Template {
  const of = (what: string): number | undefined => figures[`groundwater.aquifer.seasons.${season}.flows.${id}.${what}`];
  const measured = of("measured");
  if (measured === undefined) return nothing;
  return html`<p class="quiet">${say("groundwater.seepFlow", { season: say(`groundwater.season.${season}`), measured: shown(measured, "flow"), low: shown(of("low"), "flow"), high: shown(of("high"), "flow") })}</p>`;
}

function showButton({ place }: Pick<Reading | Drain, "place">): Template {
  const show = (): void => {
    lit.value = pointsThrough(place);
    if (narrow.value) closeLeaves();
  };
  return html`<button type="button" @click=${show}>${say("soilwork.onPlan")}</button>`;
}

// Drains.

export function drainsPart(water: Watered): Template {
  const { job } = water;
  const drains = Object.entries(job.groundwater?.drains ?? {});
  return html`<h3>${say("groundwater.drains")}</h3>
    ${drains.length === 0 ? html`<p class="quiet">${say("groundwater.noDrains")}</p>` : drainTable(water, drains)}
    ${drains.map(([id, row]) => drainEntry(water, id, row))}
    <dl class="lines">${figureLine(water.session, "groundwater.profiles.to_buy", say("groundwater.pipeToBuy"))}</dl>
    <div class="buttons">
      <button type="button" data-testid="draw-drain" @click=${() => (tool.value = "drain")}>${say("groundwater.drawDrain")}</button>
      <button type="button" data-testid="put-outlet" @click=${() => (tool.value = "outlet")}>${say("groundwater.putOutlet")}</button>
      <a class="button" href=${jobAddress(water.session.id, "tables")} data-testid="water-tables" @click=${() => (which.value = "drains")}>${say("groundwater.tables")}</a>
      <button type="button" data-testid="put-sump" @click=${() => (tool.value = "sump")}>${say("groundwater.putSump")}</button>
    </div>`;
}

function drainTable({ figures }: Watered, drains: readonly (readonly [string, Drain])[]): Template {
  const columns = ["drain", "fall", "cover", "carries", "comes", "end"] as const;
  const row = ([id, drain]: readonly [string, Drain]): Template => {
    const of = (what: string): number | undefined => figures[`groundwater.profiles.lines.${id}.${what}`];
    const [fall, end] = [of("fall"), of("free_fall")];
    return html`<tr>
      <th scope="row">${drain.name || id}${drain.working === false ? html` <span class="quiet">${say("groundwater.off")}</span>` : nothing}</th>
      <td>${fall === undefined ? "–" : percent(fall)}</td>
      <td>${shown(of("least_cover"), "length")}</td>
      <td>${shown(of("capacity"), "flow")}</td>
      <td>${shown(of("inflow"), "flow")}</td>
      <td>${end === undefined ? "–" : end < 0 ? say("groundwater.belowFlood", { value: shown(-end, "length") }) : shown(end, "length")}</td>
    </tr>`;
  };
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("groundwater.drains")}>
    <table class="plain soil-account" data-testid="drain-table" aria-label=${say("groundwater.drains")}>
      <thead><tr>${columns.map((name) => html`<th scope="col">${say(`groundwater.column.${name}`)}</th>`)}</tr></thead>
      <tbody>${drains.map(row)}</tbody>
    </table>
  </div>`;
}

function drainEntry(water: Watered, id: string, row: Drain): Template {
  const rows = rowsAt(water, "drains", say("groundwater.drain"));
  const set = fieldSetter(rows, id);
  const { job, figures } = water;
  const fall = figures[`groundwater.profiles.lines.${id}.fall`];
  const given = (row.inverts ?? []).length > 0;
  return foldedRow(
    rows,
    id,
    html`<b>${row.name || id}</b> <span class="quiet">${row.working === false ? say("groundwater.off") : fall === undefined ? "" : percent(fall)}</span>`,
    html`${tickBox({ id: `drains-${id}-working`, label: say("groundwater.working"), value: row.working ?? true, set: (on) => void set("working")(on) })}
      ${tickBox({ id: `drains-${id}-slotted`, label: say("groundwater.slotted"), value: row.slotted ?? true, set: (on) => void set("slotted")(on) })}
      ${textBox({ id: `drains-${id}-name`, label: say("soilwork.name"), value: row.name ?? "", otherwise: id, set: set("name") })}
      ${choiceBox({ id: `drains-${id}-into`, label: say("groundwater.into"), value: row.into ?? "", of: endsOf(job, id), set: (into) => void set("into")((into || null) as Json) })}
      <div class="row">
        ${numberBox({ id: `drains-${id}-diameter`, label: say("groundwater.diameter"), kind: "length", value: row.diameter ?? null, otherwise: shown(0.1016, "length"), set: set("diameter") })}
        ${given ? nothing : numberBox({ id: `drains-${id}-fall`, label: say("groundwater.fallWanted"), kind: "ratio", value: row.fall ?? null, otherwise: fall === undefined ? "" : percent(fall), set: set("fall") })}
      </div>
      <div class="buttons">
        <button type="button" data-testid="profile-${id}" @click=${() => showProfile(id)}>${say("groundwater.profileBelow")}</button>
        ${showButton(row)} ${removeButton(rows, id, row.name || id)}
      </div>`,
  );
}
