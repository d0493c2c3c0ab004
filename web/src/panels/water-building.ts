/** Water while it is built: the old pond drained, the dig kept dry, trenches, cautions; and gas under the liner. */

import { html, nothing } from "lit";
import type { Season } from "../api/water";
import { withCommas, writeNumber } from "../format/numbers";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { attempt, setOps } from "../state/changes";
import { choiceBox, longBox, numberBox } from "./boxes";
import { figureButton, figureLine } from "./figures";
import type { Template } from "./view";
import { type Watered, checksOf } from "./water-parts";

const FOUR_FEET = 1.2192;
const POND = "groundwater.pumping.old_pond";
/** Checks that can hurt somebody while it is built. */
const CAUTIONS = /^groundwater\.(trench|dig_|bank_|pump_|dewatering|beside|building_|heave|gradient)/;

export function buildingPart(water: Watered): Template {
  const { session, job } = water;
  const building = job.groundwater?.building ?? {};
  const set = (field: string) => (value: string | number | null): boolean =>
    attempt(session, say("rows.change", { what: say("groundwater.building").toLowerCase() }), setOps(job, ["groundwater", "building", field], value));
  const cautions = checksOf(session, ({ code, grade }) => grade !== "good" && CAUTIONS.test(code));
  return html`<h3>${say("groundwater.building")}</h3>
    ${choiceBox<Season>({ id: "building-season", label: say("groundwater.digSeason"), value: building.season ?? "dry", of: (["dry", "wet"] as const).map((season) => [season, say(`groundwater.season.${season}`)] as const), set: (season) => void set("season")(season) })}
    ${oldPondPart(water)}
    ${longBox({ id: "building-goes", label: say("groundwater.goes"), value: building.goes ?? "", set: (value) => set("goes")(value || null) })}
    ${numberBox({ id: "building-drop", label: say("groundwater.drop"), kind: "length", value: building.drop ?? null, otherwise: shown(0.3, "length"), set: set("drop") })}
    ${digsPart(water)} ${trenchesPart(water)}
    <h4>${say("groundwater.cautions")}</h4>
    ${cautions === nothing ? html`<p class="quiet">${say("groundwater.noCaution")}</p>` : cautions}`;
}

const POND_LINES = [
  ["start", "groundwater.pond.start", "elevation"],
  ["volume", "groundwater.pond.volume", "volume"],
  ["inflow", "groundwater.pond.inflow", "flow"],
  ["largest_useful_pump", "groundwater.pond.largest", "flow"],
] as const;

function pondLine(session: Watered["session"], value: number | undefined, path: string, name: string, kind: string): Template {
  return value === undefined ? nothing : html`<div class="line"><dt>${name}</dt><dd>${figureButton(session, path, name, kind, value)}</dd></div>`;
}

const DAY = 86_400;

/** A time as a crew plans it: hours up to three days, then days. */
export function duration(time: number | undefined): string {
  if (time === undefined) return "–";
  if (time >= 3 * DAY) return say("groundwater.inDays", { count: withCommas(writeNumber(time / DAY, 0)) });
  const hours = time / 3600;
  return say("groundwater.inHours", { count: writeNumber(hours, hours < 10 ? 1 : 0, { trimmed: true }) });
}

function oldPondPart({ session, job, figures }: Watered): Template {
  if (figures[`${POND}.start`] === undefined) return nothing;
  const pumps = Object.entries(job.groundwater?.building?.pumps ?? {});
  const row = (stem: string, name: string): Template => {
    const of = (what: string): number | undefined => figures[`${stem}.${what}`];
    const time = of("time");
    return html`<tr>
      <th scope="row">${name}</th>
      <td>${time === undefined ? say("groundwater.neverEmpty") : duration(time)}</td>
      <td>${duration(of("run_time"))}</td>
      <td>${shown(of("daily_fall"), "length")}</td>
    </tr>`;
  };
  return html`<h4>${say("groundwater.oldPond")}</h4>
    <dl class="lines">${POND_LINES.map(([name, word, kind]) => pondLine(session, figures[`${POND}.${name}`], `${POND}.${name}`, say(word), kind))}</dl>
    ${pumps.length === 0
      ? nothing
      : html`<div class="wide" tabindex="0" role="group" aria-label=${say("groundwater.oldPond")}>
          <table class="plain soil-account" data-testid="old-pond-pumps" aria-label=${say("groundwater.oldPond")}>
            <thead><tr>${(["pump", "hours", "running", "daily"] as const).map((name) => html`<th scope="col">${say(`groundwater.${name}`)}</th>`)}</tr></thead>
            <tbody>
              ${pumps.map(([id, pump]) => row(`${POND}.pumps.${id}`, pump.name || id))}
              ${pumps.length > 1 ? row(`${POND}.together`, say("groundwater.together")) : nothing}
            </tbody>
          </table>
        </div>`}`;
}

function digsPart({ session, job, figures }: Watered): Template {
  const digs = Object.keys(job.shape.bodies ?? {}).filter((body) => figures[`groundwater.pumping.digs.${body}.floor`] !== undefined);
  return html`${digs.map((body) => {
    const of = (what: string): number | undefined => figures[`groundwater.pumping.digs.${body}.${what}`];
    const name = job.shape.bodies?.[body]?.name || body;
    const likely = of("likely");
    if (likely === undefined || likely <= 0) return (of("above_floor") ?? 0) > 0 ? nothing : html`<p class="quiet">${say("groundwater.digNone", { name })}</p>`;
    const range = (low: number | undefined, middle: number | undefined, high: number | undefined, words: (value: number | undefined) => string): string =>
      say("groundwater.range", { likely: words(middle), low: words(low), high: words(high) });
    const flow = (value: number | undefined): string => shown(value, "flow");
    return html`<h4>${say("groundwater.dig", { name })}</h4>
      <dl class="lines">
        ${figureLine(session, `groundwater.pumping.digs.${body}.above_floor`)}
        <div class="line"><dt>${say("groundwater.toPump")}</dt><dd>${range(of("low"), likely, of("high"), flow)}</dd></div>
        <div class="line"><dt>${say("groundwater.timeToLower")}</dt><dd>${range(of("time_low"), of("time"), of("time_high"), duration)}</dd></div>
      </dl>`;
  })}`;
}

function trenchesPart({ job, figures }: Watered): Template {
  const drains = Object.entries(job.groundwater?.drains ?? {}).filter(([id]) => figures[`groundwater.pumping.trenches.${id}.depth`] !== undefined);
  if (drains.length === 0) return nothing;
  return html`<h4>${say("groundwater.trenches")}</h4>
    <ul>
      ${drains.map(([id, { name }]) => {
        const of = (what: string): number => figures[`groundwater.pumping.trenches.${id}.${what}`] ?? 0;
        return html`<li><b>${name || id}</b>: ${say("groundwater.trenchSays", { depth: shown(of("depth"), "length"), length: shown(of("deep_length"), "length"), four: shown(FOUR_FEET, "length"), slope: writeNumber(of("slope"), 2, { trimmed: true }), ladders: of("ladders") })}</li>`;
      })}
    </ul>`;
}

export function gasPart({ session, job, figures }: Watered): Template {
  const layer = job.groundwater?.gas?.layer ?? "none";
  const bodies = Object.keys(job.shape.bodies ?? {}).filter((body) => figures[`groundwater.venting.bodies.${body}.needed`] !== undefined);
  const set = (next: string): void =>
    void attempt(session, say("rows.change", { what: say("groundwater.gas").toLowerCase() }), setOps(job, ["groundwater", "gas", "layer"], next === "none" ? null : next));
  return html`<h3>${say("groundwater.gas")}</h3>
    <p class="quiet">${say("groundwater.gasSay")}</p>
    ${choiceBox({ id: "gas-layer", label: say("groundwater.gasLayer"), value: layer, of: (["none", "fabric", "strips"] as const).map((one) => [one, say(`groundwater.gas.${one}`)] as const), set })}
    ${bodies.map((body) => html`${bodies.length > 1 ? html`<h4>${job.shape.bodies?.[body]?.name || body}</h4>` : nothing}<dl class="lines">${["rise", "pocket", "needed"].map((what) => figureLine(session, `groundwater.venting.bodies.${body}.${what}`))}</dl>`)}
    ${checksOf(session, ({ code, grade }) => grade !== "good" && code.startsWith("groundwater.") && /gas|vent/.test(code))}`;
}
