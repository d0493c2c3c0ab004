/** What the server makes of the stone: tons, pieces and loads, class by class and cover by cover. */

import { html, nothing } from "lit";
import { writeNumber } from "../format/numbers";
import { shown } from "../format/shown";
import { inShownUnit, unitOf } from "../format/units";
import { say } from "../format/words";
import { type StoneClassTold, classesTold } from "../plan/stone-fields";
import { newestTold } from "../plan/water-fields";
import { openNext } from "../state/desk";
import { units } from "../state/settings";
import { figureLine } from "./figures";
import { type Stoned, className, treatmentName } from "./stone-parts";
import type { Template } from "./view";

const TAKEOFF = "stone.takeoff";
const readClasses = newestTold(classesTold);

/** Tons of a cover, with its stones where they are counted; empty while nobody knows. */
export function tonsOf({ figures }: Stoned, id: string): string {
  const [mass, count] = [figures[`${TAKEOFF}.treatments.${id}.mass`], figures[`${TAKEOFF}.treatments.${id}.count`]];
  if (!mass) return "";
  const tons = shown(mass, "bulk mass");
  return count ? `${tons}, ${say("stone.stones", { count: shown(count, "count") })}` : tons;
}

/** Name of a class: its own, or what it is where nobody made it. */
export function nameOfClass({ job }: Pick<Stoned, "job">, id: string, told: readonly StoneClassTold[] | null): string {
  if (job.stone?.classes?.[id]) return className(job, id);
  const item = job.catalogue?.[id]?.name;
  if (item) return item;
  const one = told?.find((each) => each.id === id);
  if (id.startsWith("step_") && one) return say("stone.stepClass", { height: shown(one.high, "length") });
  return id === "gravel" || id === "cobble" ? say(`stone.kind.${id}`) : id;
}

export function comesPart(stone: Stoned): Template {
  const { figures, session } = stone;
  const head = html`<h3>${say("stone.comes")}</h3>`;
  if (figures[`${TAKEOFF}.mass`] === undefined) return html`${head}<p class="quiet">${say("stone.wait")}</p>`;
  if (figures[`${TAKEOFF}.mass`] === 0) return html`${head}<p class="quiet">${say("stone.nothing")}</p>`;
  return html`${head}
    <dl class="lines">
      ${["mass", "count", "on_hand", "buy", "spare"].map((name) => (name === "spare" && !figures[`${TAKEOFF}.spare`] ? nothing : figureLine(session, `${TAKEOFF}.${name}`)))}
      ${loadLines(stone)}
    </dl>
    ${classTable(stone)} ${coverTable(stone)} ${storagePart(stone)}`;
}

/** Lorry loads, if the stage that counts them has told. */
function loadLines({ session, figures }: Stoned): Template[] {
  return ["stone.yard.loads", "stone.yard.staging"].filter((path) => figures[path] !== undefined).map((path) => figureLine(session, path));
}

function idsUnder(figures: Readonly<Record<string, number>>, stem: string): string[] {
  const found = Object.keys(figures).flatMap((path) => (path.startsWith(`${stem}.`) ? [path.slice(stem.length + 1).split(".")[0] as string] : []));
  return [...new Set(found)];
}

const COLUMNS = ["mass", "on_hand", "buy"] as const;

function classTable(stone: Stoned): Template {
  const { session, figures } = stone;
  const told = readClasses(session.frame.value);
  const ids = idsUnder(figures, `${TAKEOFF}.classes`).filter((id) => (figures[`${TAKEOFF}.classes.${id}.mass`] ?? 0) > 0);
  if (ids.length === 0) return nothing;
  const row = (id: string): Template => {
    const stem = `${TAKEOFF}.classes.${id}`;
    const name = nameOfClass(stone, id, told);
    const count = figures[`${stem}.count`] ?? 0;
    return html`<tr>
      <th scope="row">${name}</th>
      <td>${count > 0 ? shown(count, "count") : "–"}</td>
      ${COLUMNS.map((column) => html`<td>${amount(session, `${stem}.${column}`, name)}</td>`)}
      <td>${loadsOf(figures, id)}</td>
    </tr>`;
  };
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("stone.byClass")}>
    <table class="plain soil-account" data-testid="stone-classes">
      <caption>${captioned("stone.byClass")}</caption>
      <thead>
        <tr>${(["class", "pieces", "needed", "onHand", "toBuy", "loads"] as const).map((column) => html`<th scope="col">${say(`stone.column.${column}`)}</th>`)}</tr>
      </thead>
      <tbody>${ids.map(row)}</tbody>
    </table>
  </div>`;
}

/** Truck loads of what is bought of a class. */
function loadsOf(figures: Readonly<Record<string, number>>, id: string): string {
  const loads = figures[`stone.yard.classes.${id}.loads`];
  return loads ? shown(loads, "count") : "–";
}

/** Tons without their unit, which stands over the table: a press opens where they come from. */
function amount(session: Stoned["session"], path: string, name: string): unknown {
  const value = session.figures.value[path];
  if (!value) return "–";
  return html`<button class="figure" type="button" aria-label=${say("number.open", { name, value: `${tons(value)} ${unitOf("bulk mass", units.value)}` })} @click=${() => openNext({ kind: "figure", path })}>${tons(value)}</button>`;
}

function tons(mass: number): string {
  return writeNumber(inShownUnit(mass, "bulk mass", units.value), 1);
}

function captioned(word: "stone.byClass" | "stone.byTreatment"): string {
  return `${say(word)}, ${unitOf("bulk mass", units.value)}`;
}

/** What each cover takes; what nobody told stands below as well, because it is bought too. */
function coverTable(stone: Stoned): Template {
  const { session, figures, job } = stone;
  const ids = Object.keys(job.stone?.treatments ?? {}).filter((id) => figures[`${TAKEOFF}.treatments.${id}.mass`] !== undefined);
  if (ids.length === 0) return nothing;
  const row = (id: string): Template => {
    const of = (what: string): number => figures[`${TAKEOFF}.treatments.${id}.${what}`] ?? 0;
    return html`<tr>
      <th scope="row">${treatmentName(job, id)}</th>
      <td>${of("length") > 0 ? shown(of("length"), "length") : "–"}</td>
      <td>${of("area") > 0 ? shown(of("area"), "area") : "–"}</td>
      <td>${of("count") > 0 ? shown(of("count"), "count") : "–"}</td>
      <td>${amount(session, `${TAKEOFF}.treatments.${id}.mass`, treatmentName(job, id))}</td>
    </tr>`;
  };
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("stone.byTreatment")}>
    <table class="plain soil-account" data-testid="stone-covers">
      <caption>${captioned("stone.byTreatment")}</caption>
      <thead>
        <tr>${(["what", "length", "area", "pieces", "tons"] as const).map((column) => html`<th scope="col">${say(`stone.column.${column}`)}</th>`)}</tr>
      </thead>
      <tbody>${ids.map(row)}</tbody>
    </table>
  </div>`;
}

/** Water that is left where the stone lies. */
function storagePart({ session, figures, job }: Stoned): Template {
  const bodies = Object.keys(job.shape.bodies ?? {}).filter((body) => figures[`stone.net_storage.bodies.${body}.volume`] !== undefined);
  if (bodies.length === 0) return nothing;
  return html`<h4>${say("stone.storage")}</h4>
    ${bodies.map(
      (body) => html`${bodies.length > 1 ? html`<p><b>${job.shape.bodies?.[body]?.name || body}</b></p>` : nothing}
        <dl class="lines">${["volume", "gross", "displaced"].map((what) => figureLine(session, `stone.net_storage.bodies.${body}.${what}`))}</dl>`,
    )}`;
}
