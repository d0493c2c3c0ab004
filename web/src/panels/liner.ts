/** The liner: its size over the ground as it is dug, how it is pieced and pulled, its edge, what goes through it. */

import { html, nothing } from "lit";
import { percent, shown } from "../format/shown";
import { type Word, say } from "../format/words";
import { newestTold } from "../plan/water-fields";
import { type OrderTold, ordersOf, rimsOf } from "../plan/lining-fields";
import { edgeShown, linedShown, linerShown } from "../state/liner-shown";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { choiceBox, tickBox } from "./boxes";
import { figureButton, figureLine } from "./figures";
import { cautionsPart, edgePart, testPart } from "./liner-edge";
import { formPart } from "./liner-form";
import { cushionPart, piecesPart, pullPart } from "./liner-order";
import { type Lined, type LinerOf, linerName, linersOf, partChecks, reaches, sizeWords, tapedWords } from "./liner-parts";
import { guardsPart, patchesPart, pipesPart, tapesPart } from "./liner-rows";
import { type Dispose, type Template, mountView } from "./view";

/** Liner that the page tells of; it outlives the page. */
const inHand: Signal<string> = signal("");
const ARRAYS = ["liner_order", "liner_rim"] as const;

export function mountLiner(host: HTMLElement, session: Session): Dispose {
  const [readOrders, readRims] = [newestTold(ordersOf), newestTold(rimsOf)];
  for (const name of ARRAYS) session.want(name, true, "liner");
  const stop = mountView(host, () => {
    const job = session.shown.value;
    const frame = session.frame.value;
    const [orders, rims] = [readOrders(frame), readRims(frame)];
    if (job === null) return nothing;
    const lined: Lined = { session, job, figures: session.figures.value };
    const liners = linersOf(job);
    const liner = liners.find(({ id }) => id === inHand.value) ?? liners[0];
    const lead = html`<p class="quiet">${say("liner.lead")}</p>`;
    if (!liner) return html`${lead}<p class="quiet">${say("liner.noBody")}</p>`;
    const order = orders?.find((one) => one.liner === liner.id) ?? null;
    const mine = rims?.filter(({ body }) => liner.row.bodies.includes(body)) ?? null;
    return html`${lead} ${whichPart(lined, liners, liner)} ${sizePart(lined, liner, order)} ${formPart(lined, liner)} ${allPart(lined, liners)} ${onPlanPart()}
      ${piecesPart(lined, liner, order)} ${tapesPart(lined, liner, orders)} ${pullPart(lined, liner, order)} ${cushionPart(lined, liner, order)}
      ${edgePart(lined, liner, mine)} ${pipesPart(lined, liner, orders)} ${patchesPart(lined)} ${guardsPart(lined, liner)} ${testPart(lined, liner, mine)} ${cautionsPart(session, liner)}`;
  });
  return () => {
    for (const name of ARRAYS) session.want(name, false, "liner");
    stop();
  };
}

/** Size of the liner in hand: the ground, the tapes, the proof, what is ordered, what is cut away. */
function sizePart({ session, figures }: Lined, liner: LinerOf, order: OrderTold | null): Template {
  const head = html`<h3>${say("liner.size")}</h3>`;
  if (figures[`lining.arcs.liners.${liner.id}.least`] === undefined) return html`${head}<p class="quiet">${say("liner.wait")}</p>`;
  const waste = figures[`lining.layout.liners.${liner.id}.waste`];
  const line = (word: Word, testid: string, content: string): Template => html`<div class="line"><dt>${say(word)}</dt><dd data-testid="${testid}-${liner.id}">${testid === "ordered" ? html`<b>${content || "–"}</b>` : content || "–"}</dd></div>`;
  return html`${head}
    <dl class="lines">
      ${figureLine(session, `lining.arcs.liners.${liner.id}.least`, say("liner.ground"))} ${line("liner.tapesSize", "taped", tapedWords(figures, liner))}
      ${line("liner.proved", "proved", provedWords(session, figures, liner))}
      ${order?.form === "one" ? line("liner.toOrder", "ordered", toOrderWords(figures, liner, order)) : nothing} ${waste === undefined ? nothing : line("liner.waste", "waste", percent(waste))}
    </dl>
    <p class="quiet">${say("liner.sizeSay")}</p>
    ${partChecks(session, liner, "size")}`;
}

/** Size of a liner in one piece as it is ordered; the proved one where that is larger. */
function toOrderWords(figures: Lined["figures"], { id }: LinerOf, { pieces }: OrderTold): string {
  const proved = `lining.proved.liners.${id}`;
  const ordered = `lining.order.liners.${id}.pieces.${pieces[0]?.name ?? ""}`;
  return sizeWords(figures, reaches(figures, ordered, proved) ? ordered : proved);
}

/** All liners beside one another, where there are several. */
function allPart({ session, job, figures }: Lined, liners: readonly LinerOf[]): Template {
  if (liners.length < 2) return nothing;
  const cell = (path: string, name: string): Template => {
    const value = figures[path];
    return html`<td>${value === undefined ? "–" : figureButton(session, path, name, "area", value)}</td>`;
  };
  const row = (liner: LinerOf): Template => {
    const name = linerName(job, liner);
    return html`<tr data-liner=${liner.id}>
      <th scope="row">${name}</th>
      ${cell(`lining.arcs.liners.${liner.id}.least`, `${say("liner.ground")}, ${name}`)} ${cell(`lining.arcs.liners.${liner.id}.ordered_area`, `${say("liner.tapesSize")}, ${name}`)}
    </tr>`;
  };
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("liner.all")}>
    <table class="plain soil-account" data-testid="liner-sizes">
      <caption>${say("liner.all")}</caption>
      <thead><tr>${(["liner", "ground", "ordered"] as const).map((name) => html`<th scope="col">${say(`liner.column.${name}`)}</th>`)}</tr></thead>
      <tbody>
        ${liners.map(row)}
        <tr><th scope="row">${say("liner.together")}</th>${cell("lining.area.area", `${say("liner.ground")}, ${say("liner.together")}`)}${cell("lining.arcs.ordered_area", `${say("liner.tapesSize")}, ${say("liner.together")}`)}</tr>
      </tbody>
    </table>
  </div>`;
}

/** The proof follows the tapes by some seconds; until then it is being made. */
function provedWords(session: Session, figures: Lined["figures"], liner: LinerOf): string {
  const state = session.frame.value?.header.stages["lining.cover"];
  const stem = `lining.cover.liners.${liner.id}`;
  if (state !== "fresh" || figures[`${stem}.length`] === undefined) return say("liner.proving");
  const [ordered, count] = [figures[`${stem}.ordered_area`], figures[`${stem}.count`]];
  if (liner.row.one_piece !== false || ordered === undefined) return sizeWords(figures, stem);
  return say("liner.provedStrips", { count: count ?? 0, area: shown(ordered, "area") });
}

function onPlanPart(): Template {
  return html`${tickBox({ id: "show-liner", label: say("liner.onPlan"), value: linerShown.value, set: (on) => (linerShown.value = on) })}
    ${tickBox({ id: "show-liner-edge", label: say("liner.edgeOnPlan"), value: edgeShown.value, set: (on) => (edgeShown.value = on) })}
    ${tickBox({ id: "show-lined", label: say("liner.partsOnPlan"), value: linedShown.value, set: (on) => (linedShown.value = on) })}`;
}

/** With several liners one of them is in hand; the page tells of it. */
function whichPart({ job }: Lined, liners: readonly LinerOf[], liner: LinerOf): Template {
  if (liners.length < 2) return nothing;
  return choiceBox({ id: "liner-in-hand", label: say("liner.inHand"), value: liner.id, of: liners.map((one) => [one.id, linerName(job, one)] as const), set: (id) => (inHand.value = id) });
}
