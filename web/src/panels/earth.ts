/** The soil of the shape: what is dug, what is placed, what is left over, and where each cubic metre goes. */

import { html, nothing } from "lit";
import { defaultsInUse } from "../api/rest";
import type { DefaultInUse } from "../api/types";
import { newest } from "../charts/fields";
import { shown } from "../format/shown";
import { type Word, say, sayIfKnown } from "../format/words";
import { haulsOf, timesByEnd } from "../plan/hauls";
import { openNext } from "../state/desk";
import type { Session } from "../state/session";
import { haulsShown } from "../state/soil-shown";
import { tickBox } from "./boxes";
import { destinationsPart } from "./destinations";
import { factorsOf, factorsPart } from "./factors";
import { figureButton, figureLine } from "./figures";
import { type Earthed, compactorsPart, countedPart, machinesPart, offSitePart, pilesPart, trucksPart } from "./soil-rows";
import { type Dispose, type Template, fetched, mountView } from "./view";

const LINES = [
  "earth.soil.surplus_bank",
  "earth.soil.export_loose",
  "earth.soil.export_mass",
  "earth.soil.leaves",
  "earth.soil.brought",
  "earth.soil.load_count",
  "earth.soil.topsoil_stripped",
  "earth.soil.settlement_allowance",
  "earth.soil.greatest_dig",
  "earth.subgrade.thickest",
];
const BY_KIND = ["dug", "stripped", "loose", "compacted", "mass"] as const;
const WORK = ["dig_time", "carry_time", "compact_time", "road_time", "mean_distance", "loads"].map((name) => `earth.haul.${name}`);
const DRYING = ["earth.haul.drying_area", "earth.haul.drying_given"] as const;
/** Machines that are taken where the job has none of a kind; the job's own tell their hours in their rows. */
const ASSUMED = ["standard_digger", "standard_carrier", "standard_compactor"] as const;

/** The soil in short, under the shape; all about it is a leaf of its own. */
export function earthPart(session: Session): Template {
  return html`<section class="earth">
    <h3>${say("earth.title")}</h3>
    ${sums(session)}
    <p><button type="button" data-testid="open-earth" @click=${() => openNext({ kind: "earth" })}>${say("soilwork.open")}</button></p>
    <p class="quiet">${say("earth.levels")}</p>
  </section>`;
}

export function mountEarth(host: HTMLElement, session: Session): Dispose {
  const [readSoils, readHauls] = [newest("soils"), newest("hauls")];
  const defaults = fetched(() => {
    void session.rev.value;
    return defaultsInUse(session.id);
  });
  for (const name of ["soils", "hauls"]) session.want(name, true, "earth");
  const stop = mountView(host, () => {
    const job = session.shown.value;
    const frame = session.frame.value;
    const [soils, hauls] = [readSoils(frame), readHauls(frame)];
    if (job === null) return nothing;
    return earthLeaf({ session, job, defaults: knownDefaults(defaults.answer.value.value), factors: factorsOf(soils) }, timesByEnd(haulsOf(hauls && { field: hauls, head: hauls.head })));
  });
  return () => {
    for (const name of ["soils", "hauls"]) session.want(name, false, "earth");
    defaults.stop();
    stop();
  };
}

function knownDefaults(answer: readonly DefaultInUse[] | null): readonly DefaultInUse[] {
  return answer ?? [];
}

function earthLeaf(earth: Earthed, times: ReadonlyMap<string, number>): Template {
  const { session, job, factors } = earth;
  if (session.figures.value["earth.soil.dug"] === undefined) return html`<p class="quiet">${say("soilwork.addFirst")}</p>`;
  return html`${sums(session)}
    <h3>${say("soilwork.goes")}</h3>
    ${destinationsPart(session, job, times)}
    ${tickBox({ id: "show-hauls", label: say("soilwork.showHauls"), value: haulsShown.value, set: (on) => (haulsShown.value = on) })}
    <dl class="lines">
      ${work(session).map((path) => figureLine(session, path))}
      ${ASSUMED.map((name) => figureLine(session, `earth.haul.machines.${name}.hours`, say(`soilwork.${name}`)))}
    </dl>
    ${pilesPart(earth)} ${offSitePart(earth)}
    <h3>${say("earth.byKind")}</h3>
    <p class="quiet">${say("soilwork.accountSays")}</p>
    ${byKind(session)} ${factorsPart(session, job, factors)} ${countedPart(earth)} ${trucksPart(earth)} ${machinesPart(earth)} ${compactorsPart(earth)}`;
}

/** Machine time, and the ground that muck needs to dry where there is muck. */
function work(session: Session): readonly string[] {
  return (session.figures.value[DRYING[0]] ?? 0) > 0 ? [...WORK, ...DRYING] : WORK;
}

function sums(session: Session): Template {
  return html`<dl class="lines">
    ${doubtful(session, "earth.soil.dug", "earth.soil.dug_sigma", "earth.dug")}
    ${doubtful(session, "earth.soil.placed", "earth.soil.placed_sigma", "earth.placed")}
    ${LINES.map((path) => figureLine(session, path))}
  </dl>`;
}

/** A figure with what the survey leaves open about it. */
function doubtful(session: Session, path: string, sigmaPath: string, word: Word): Template {
  const value = session.figures.value[path];
  const sigma = session.figures.value[sigmaPath];
  if (value === undefined) return nothing;
  return html`<div class="line">
    <dt>${say(word)}</dt>
    <dd>
      ${figureButton(session, path, say(word), "soil volume", value)}
      ${sigma === undefined ? nothing : html`<span class="quiet">± ${shown(sigma, "soil volume")}</span>`}
    </dd>
  </div>`;
}

function byKind(session: Session): Template {
  const figures = session.figures.value;
  const kinds = [...new Set(Object.keys(figures).flatMap((path) => /^earth\.soil\.by_kind\.([^.]+)\./.exec(path)?.[1] ?? []))];
  const some = kinds.filter((kind) => BY_KIND.some((name) => (figures[`earth.soil.by_kind.${kind}.${name}`] ?? 0) > 0));
  if (some.length === 0) return nothing;
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("earth.byKind")}>
    <table class="plain soil-account" data-testid="by-kind" aria-label=${say("earth.byKind")}>
      <thead>
        <tr><th scope="col">${say("earth.kind")}</th>${BY_KIND.map((name) => html`<th scope="col">${name === "mass" ? say("soilwork.mass") : say(`earth.${name}`)}</th>`)}</tr>
      </thead>
      <tbody>
        ${some.map(
          (kind) => html`<tr>
            <th scope="row">${sayIfKnown(`soil.${kind}`, kind)}</th>
            ${BY_KIND.map((name) => html`<td>${shown(figures[`earth.soil.by_kind.${kind}.${name}`], name === "mass" ? "bulk mass" : "soil volume")}</td>`)}
          </tr>`,
        )}
      </tbody>
    </table>
  </div>`;
}
