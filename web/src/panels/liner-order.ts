/** What is ordered and how it is laid: pieces, joints, rolls, holes, offcuts; the day it is pulled; the fabric under and over it. */

import { html, nothing } from "lit";
import type { JointTold } from "../api/lining-told";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { type Word, said, say } from "../format/words";
import type { OrderTold } from "../plan/lining-fields";
import { attempt, setOps } from "../state/changes";
import { closeLeaves, lit } from "../state/desk";
import { narrow } from "../state/narrow";
import type { SitePoint } from "../geometry/types";
import { numberBox, tickBox } from "./boxes";
import { figureLine, tradeFigure } from "./figures";
import { type Lined, type LinerOf, isAbout, partChecks, reaches, sizeWords } from "./liner-parts";
import type { Template } from "./view";

const stemOf = ({ id }: LinerOf): string => `lining.order.liners.${id}`;

/** Show places on the plan; on a phone the plan comes into view. */
export function showPlaces(places: readonly SitePoint[]): void {
  lit.value = [...places];
  if (narrow.value) closeLeaves();
}

/** Figures of one stem, each on its line, with a word of the page for each. */
export function figureLines({ session }: Lined, stem: string, names: readonly (readonly [name: string, word: Word])[]): Template {
  return html`<dl class="lines">${names.map(([name, word]) => figureLine(session, `${stem}.${name}`, say(word)))}</dl>`;
}

const TOTALS = [
  ["ordered_area", "liner.orderedArea"],
  ["mass", "liner.mass"],
  ["margin", "liner.digMargin"],
  ["folds", "liner.folds"],
  ["spare", "liner.spare"],
  ["seams", "liner.seams"],
  ["tape", "liner.seamTape"],
  ["reused_area", "liner.reused"],
] as const;

export function piecesPart(lined: Lined, liner: LinerOf, order: OrderTold | null): Template {
  const head = html`<h3>${say("liner.pieces")}</h3>`;
  if (order === null) return html`${head}<p class="quiet">${say("liner.wait")}</p>`;
  return html`${head} ${proofPart(lined, liner, order)} ${pieceTable(lined, liner, order)} ${figureLines(lined, stemOf(liner), TOTALS.filter(([name]) => (lined.figures[`${stemOf(liner)}.${name}`] ?? 0) > 0))}
    ${jointsPart(order)} ${rollsPart(order)} ${holesPart(order)} ${offcutsPart(lined, liner, order)} ${severalPart(lined, liner, order)}`;
}

/** What the proof says of the order: enough, or which size to order instead. */
function proofPart({ figures, session }: Lined, liner: LinerOf, { form, pieces }: OrderTold): Template {
  const stem = `lining.proved.liners.${liner.id}`;
  if (form !== "one" || figures[`${stem}.length`] === undefined) return nothing;
  if (session.frame.value?.header.stages["lining.proved"] !== "fresh") return html`<p class="quiet">${say("liner.proofWaits")}</p>`;
  const size = sizeWords(figures, stem);
  const covers = reaches(figures, `${stemOf(liner)}.pieces.${pieces[0]?.name ?? ""}`, stem);
  return html`<p data-testid="liner-proof">${covers ? say("liner.proofLess", { size, by: shown(Math.max(0, figures[`${stem}.saved`] ?? 0), "area") }) : say("liner.proofMore", { size })}</p>`;
}

function pieceTable({ figures }: Lined, liner: LinerOf, { pieces }: OrderTold): Template {
  const columns = ["piece", "length", "width", "mass", "carry", "pull"] as const;
  const row = (name: string, corners: readonly SitePoint[]): Template => {
    const of = (what: string): number | undefined => figures[`${stemOf(liner)}.pieces.${name}.${what}`];
    return html`<tr>
      <th scope="row"><button type="button" class="plain" aria-label=${say("liner.showPiece", { name })} @click=${() => showPlaces(corners)}>${name}</button></th>
      <td>${shown(of("length"), "length")}</td>
      <td>${shown(of("width"), "length")}</td>
      <td>${shown(of("mass"), "mass")}</td>
      <td>${of("carriers") ?? "–"}</td>
      <td>${of("pullers") ?? "–"}</td>
    </tr>`;
  };
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("liner.pieces")}>
    <table class="plain soil-account short" data-testid="piece-list" aria-label=${say("liner.pieces")}>
      <thead><tr>${columns.map((name) => html`<th scope="col">${say(`liner.piece.${name}`)}</th>`)}</tr></thead>
      <tbody>${pieces.map(({ name, corners }) => row(name, corners))}</tbody>
    </table>
  </div>`;
}

function jointsPart({ joints }: OrderTold): Template {
  if (joints.length === 0) return nothing;
  const line = ({ kind, first, second, length, overlap, line: places }: JointTold): Template => html`<li>
    <button type="button" class="plain" @click=${() => showPlaces(places)}>
      ${say(`liner.joint.${kind}`, { first, second, length: shown(length, "length"), overlap: shown(overlap, "length") })}
    </button>
  </li>`;
  return html`<h4>${say("liner.joints")}</h4><ul class="told" data-testid="joints">${joints.map(line)}</ul>`;
}

function rollsPart({ rolls }: OrderTold): Template {
  if (rolls.length === 0) return nothing;
  return html`<h4>${say("liner.rollsToBuy")}</h4>
    <ol class="told" data-testid="rolls">
      ${rolls.map(({ width, length, rest, cuts }) => {
        const pieces = cuts.map(([piece, long]) => `${piece} ${shown(long, "length")}`).join(", ");
        return html`<li>${say("liner.rollSays", { size: say("liner.byPiece", { length: shown(length, "length"), width: shown(width, "length") }), pieces, rest: shown(rest, "length") })}</li>`;
      })}
    </ol>`;
}

function holesPart({ holes }: OrderTold): Template {
  return html`${holes.map(({ island, area, line }) => html`<p><button type="button" class="plain" @click=${() => showPlaces(line)}>${say("liner.hole", { island, area: shown(area, "area") })}</button></p>`)}`;
}

/** What an offcut is for: patches and collars by their names, spare ones by their number. */
export function usersOf(job: Job, patches: readonly string[]): string[] {
  const own = job.lining?.patches ?? {};
  const named = patches.flatMap((id): string[] => {
    if (id in own) return [own[id]?.name || id];
    const pipe = /^collar_(.+)$/.exec(id)?.[1];
    return pipe === undefined ? [] : [say("liner.collarOf", { name: job.lining?.penetrations?.[pipe]?.name || pipe })];
  });
  const spare = patches.length - named.length;
  return spare > 0 ? [...named, say("liner.spares", { count: spare })] : named;
}

function offcutsPart({ figures, job }: Lined, liner: LinerOf, { offcuts, cut_from: from }: OrderTold): Template {
  if (offcuts.length === 0) return nothing;
  const usesOf = (name: string): string[] => Object.entries(from).flatMap(([what, offcut]) => (offcut === name ? [what] : []));
  const size = (name: string): string => sizeWords(figures, `${stemOf(liner)}.offcuts.${name}`);
  const [used, free] = [offcuts.filter((name) => usesOf(name).length > 0), offcuts.filter((name) => usesOf(name).length === 0)];
  return html`<h4>${say("liner.offcuts")}</h4>
    <ul class="told" data-testid="offcuts">
      ${used.map((name) => html`<li>${say("liner.offcutFor", { size: size(name), what: usersOf(job, usesOf(name)).join(", ") })}</li>`)}
      ${free.length === 0 ? nothing : html`<li>${say("liner.offcutFree", { sizes: free.map(size).join(", ") })}</li>`}
    </ul>`;
}

/** What several pieces instead of one would be. */
function severalPart({ figures }: Lined, liner: LinerOf, { several, form }: OrderTold): Template {
  const stem = `${stemOf(liner)}.several`;
  const saved = figures[`${stem}.saved`];
  if (several === null || saved === undefined || form !== "one") return nothing;
  return html`<p class="quiet" data-testid="several">${say(saved > 0 ? "liner.several" : "liner.severalNot", { count: several.pieces, by: shown(Math.abs(saved), "area"), seams: shown(figures[`${stem}.seams`], "length") })}</p>`;
}

// The day it is pulled.

const DAY = [
  ["heaviest", "liner.heaviest"],
  ["carriers", "liner.carriers"],
  ["pullers", "liner.pullers"],
  ["sandbags", "liner.sandbags"],
  ["least_temperature", "liner.leastTemperature"],
] as const;

const WINDS = [
  ["stop_wind", "liner.stopWind"],
  ["lifting_wind", "liner.liftingWind"],
] as const;

function windLines({ figures }: Lined, liner: LinerOf): Template {
  return html`<dl class="lines">
    ${WINDS.map(([name, word]) => {
      const path = `${stemOf(liner)}.${name}`;
      const value = figures[path];
      return value === undefined ? nothing : html`<div class="line"><dt>${say(word)}</dt><dd>${tradeFigure(path, say(word), "wind", value)}</dd></div>`;
    })}
  </dl>`;
}

export function pullPart(lined: Lined, liner: LinerOf, order: OrderTold | null): Template {
  const { session, job } = lined;
  const pull = job.lining?.pull ?? {};
  const set = (field: string) => (value: number | boolean | null): boolean => attempt(session, say("rows.change", { what: say("liner.pull").toLowerCase() }), setOps(job, ["lining", "pull", field], value));
  const count = (value: number | null): boolean => set("people")(value === null ? null : Math.round(value));
  return html`<h3>${say("liner.pull")}</h3>
    <p class="quiet">${say("liner.pullSay")}</p>
    <div class="row">
      ${numberBox({ id: "pull-people", label: say("liner.people"), kind: "count", value: pull.people ?? null, set: count })}
      ${numberBox({ id: "pull-wind", label: say("liner.wind"), kind: "speed", trade: "wind", value: pull.wind ?? null, set: set("wind") })}
      ${numberBox({ id: "pull-temperature", label: say("liner.temperature"), kind: "temperature", value: pull.temperature ?? null, set: set("temperature") })}
    </div>
    ${tickBox({ id: "pull-machine", label: say("liner.machine"), value: pull.machine ?? false, set: (on) => void set("machine")(on) })}
    ${goPart(lined, liner)} ${windLines(lined, liner)} ${figureLines(lined, stemOf(liner), DAY)}
    ${order === null || order.steps.length === 0 ? nothing : html`<h4>${say("liner.steps")}</h4><ol class="told" data-testid="pull-steps">${order.steps.map((step) => html`<li>${said(step)}</li>`)}</ol>`}`;
}

/** Checks of the day: none that stops, and none to look at, is a go. */
function goPart({ session, job }: Lined, liner: LinerOf): Template {
  const { people = null, wind = null, temperature = null, machine = false } = job.lining?.pull ?? {};
  const found = session.checks.value.filter((one) => one.grade !== "good" && !one.accepted && isAbout(one, liner, "day"));
  const stops = found.some(({ grade }) => grade === "stop");
  const asked = people === null || wind === null || temperature === null;
  const words = stops ? "liner.noGo" : asked ? "liner.goAsk" : found.length > 0 ? "liner.goLook" : machine ? "liner.goMachine" : "liner.go";
  return html`<p class="go" data-testid="go" data-verdict=${stops ? "stop" : asked || found.length > 0 ? "look" : "good"}><b>${say(words)}</b></p>
    ${partChecks(session, liner, "day")}`;
}

// The fabric.

function fabricsLine(job: Job, side: "below" | "above", fabrics: readonly string[]): Template {
  if (fabrics.length === 0) return nothing;
  const counts = new Map<string, number>();
  for (const id of fabrics) counts.set(id, (counts.get(id) ?? 0) + 1);
  const names = [...counts].map(([id, count]) => (count > 1 ? `${count} × ` : "") + (job.catalogue?.[id]?.name || id));
  return html`<p class="quiet">${say(`liner.fabrics.${side}`, { fabrics: names.join(", ") })}</p>`;
}

/** Less than this is no fabric: a tenth of the lightest that is sold [kg/m²]. */
const NO_FABRIC = 0.01;

export function cushionPart(lined: Lined, liner: LinerOf, order: OrderTold | null): Template {
  const { figures, session } = lined;
  const stem = `${stemOf(liner)}.cushion`;
  const side = (name: "below" | "above"): Template => {
    const of = (what: string): number | undefined => figures[`${stem}.${name}.${what}`];
    const needed = of("needed");
    if (needed === undefined) return nothing;
    return html`<tr>
      <th scope="row">${say(`liner.cushion.${name}`)}</th>
      <td>${needed < NO_FABRIC ? say("liner.cushion.none") : shown(needed, "areal mass")}</td>
      <td>${of("has") === undefined ? "–" : shown(of("has"), "areal mass")}</td>
      <td>${shown(of("pressure"), "pressure")}</td>
      <td>${shown(of("allowed"), "pressure")}</td>
    </tr>`;
  };
  const columns = ["side", "needed", "has", "pressure", "allowed"] as const;
  return html`<h3>${say("liner.cushion")}</h3>
    <p class="quiet">${say("liner.cushionSay")}</p>
    ${order === null
      ? nothing
      : html`<div class="wide" tabindex="0" role="group" aria-label=${say("liner.cushion")}>
          <table class="plain soil-account short" data-testid="cushion" aria-label=${say("liner.cushion")}>
            <thead><tr>${columns.map((name) => html`<th scope="col">${say(`liner.cushion.${name}`)}</th>`)}</tr></thead>
            <tbody>${side("below")} ${side("above")}</tbody>
          </table>
        </div>`}
    ${(["below", "above"] as const).map((name) => fabricsLine(lined.job, name, order?.fabrics[name] ?? []))}
    <dl class="lines">${figureLine(session, `${stem}.area`, say("liner.fabricArea"))}</dl>
    ${partChecks(session, liner, "cushion")}`;
}
