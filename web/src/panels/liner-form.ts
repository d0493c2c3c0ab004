/** How a liner is made: what lies under which water, in one piece or from rolls, in which sizes it can be had. */

import { html, nothing } from "lit";
import type { Liner, Stock } from "../api/lining";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { attempt } from "../state/changes";
import { type Json, type Op, pointer } from "../state/ops";
import { type Signal, signal } from "../state/signal";
import { choiceBox, numberBox, textBox, tickBox, wordSwitch } from "./boxes";
import { type Lined, type LinerOf, itemsOf, linerName, linerOps } from "./liner-parts";
import type { Template } from "./view";

/** What is usual where a liner does not tell [m]; the document states them with their sources. */
export const USUAL = { seam: 0.15, margin: 0.6, height: 0.1, upturn: 0.1 } as const;

const PIECED = ["onePiece", "parts", "rolls"] as const;
type Pieced = (typeof PIECED)[number];

function pieced({ one_piece: onePiece = true, parts = false }: Liner): Pieced {
  return onePiece ? (parts ? "parts" : "onePiece") : "rolls";
}

/** One edit, whatever of the two fields changes. */
export function piecedOps(job: Job, liner: LinerOf, how: Pieced): Op[] {
  const fields = { one_piece: how !== "rolls", parts: how === "parts" };
  if (liner.assumed) return [{ op: "add", path: pointer("lining", "liners", liner.id), value: { ...liner.row, ...fields } as unknown as Json }];
  return Object.entries(fields).flatMap(([field, value]) => (value === (liner.row[field as keyof typeof fields] ?? field === "one_piece") ? [] : linerOps(job, liner, field, value)));
}

/** A size that is being typed. */
const typed: Signal<{ readonly width: number | null; readonly length: number | null }> = signal({ width: null, length: null });

export function formPart(lined: Lined, liner: LinerOf): Template {
  const { session, job } = lined;
  const { id, row, assumed } = liner;
  const set = (field: string) => (value: Json): boolean => attempt(session, say("liner.change"), linerOps(job, liner, field, value));
  const piece = (how: Pieced): void => void attempt(session, say("liner.change"), piecedOps(job, liner, how));
  const choice = (field: "membrane" | "cushion_below" | "cushion_above", label: string, kinds: readonly string[]): Template => {
    const of = itemsOf(job, kinds, row[field]);
    return choiceBox({ id: `liner-${field}`, label, value: row[field] ?? "", of, set: (item) => void set(field)(item || null) });
  };
  return html`<details class="fold entry" data-testid="liner-form">
    <summary><b>${say("liner.liners")}</b> <span class="quiet">${assumed ? say("liner.assumed") : `${say(`liner.${pieced(row)}`)}; ${say("liner.ordered").toLowerCase()} ${say(`liner.ordered.${row.ordered ?? "after"}`)}`}</span></summary>
    ${textBox({ id: "liner-name", label: say("soilwork.name"), value: row.name ?? "", otherwise: linerName(job, { id, row: { bodies: row.bodies } }), set: (value) => set("name")(value || null) })}
    ${bodiesPart(lined, liner, set)} ${choice("membrane", say("liner.membrane"), ["membrane"])} ${choice("cushion_below", say("liner.cushionBelow"), ["fabric"])}
    ${choice("cushion_above", say("liner.cushionAbove"), ["fabric"])}
    ${wordSwitch<Pieced>({ id: "liner-pieced", label: say("liner.pieced"), value: pieced(row), of: PIECED.map((how) => [how, say(`liner.${how}`)] as const), set: piece })}
    ${row.one_piece === false ? html`${stockPart(liner, set)} <p class="quiet">${say("liner.rollsNote")}</p>` : nothing}
    <div class="row">
      ${numberBox({ id: "liner-margin", label: say("liner.margin"), kind: "length", value: row.margin ?? null, otherwise: shown(USUAL.margin, "length"), set: set("margin") })}
      ${row.one_piece === false ? numberBox({ id: "liner-seam", label: say("liner.seam"), kind: "length", value: row.seam ?? null, otherwise: shown(USUAL.seam, "length"), set: set("seam") }) : nothing}
      ${numberBox({ id: "liner-along", label: say("liner.along"), kind: "angle", value: row.along ?? null, otherwise: say("liner.alongBest"), set: set("along") })}
    </div>
    ${wordSwitch<"before" | "after">({ id: "liner-ordered", label: say("liner.ordered"), value: row.ordered ?? "after", of: [["before", say("liner.ordered.before")], ["after", say("liner.ordered.after")]], set: (when) => void set("ordered")(when) })}
    <p class="quiet">${say(`liner.orderedSay.${row.ordered ?? "after"}`)}</p>
    ${assumed ? nothing : html`<button type="button" class="plain" data-testid="liner-forget" @click=${() => attempt(session, say("liner.change"), [{ op: "remove", path: pointer("lining", "liners", id) }])}>${say("liner.forget")}</button>`}
  </details>`;
}

/** Which water it lies under: the last one stays. */
function bodiesPart({ job }: Lined, { row }: LinerOf, set: (field: string) => (value: Json) => boolean): Template {
  const bodies = Object.entries(job.shape.bodies ?? {});
  if (bodies.length < 2) return nothing;
  const turn = (body: string, on: boolean): void => {
    const next = on ? [...row.bodies, body] : row.bodies.filter((one) => one !== body);
    if (next.length > 0) set("bodies")(next);
  };
  return html`<fieldset class="ticks"><legend>${say("liner.bodies")}</legend>
    ${bodies.map(([body, { name }]) => tickBox({ id: `liner-body-${body}`, label: name || body, value: row.bodies.includes(body), set: (on) => turn(body, on) }))}
  </fieldset>`;
}

/** Widths and lengths of rolls that can be had. */
function stockPart({ row }: LinerOf, set: (field: string) => (value: Json) => boolean): Template {
  const stock = row.stock ?? [];
  const put = (next: readonly Stock[]): boolean => set("stock")(next as unknown as Json);
  const change = (at: number, field: keyof Stock) => (value: number | null): boolean => value !== null && put(stock.with(at, { ...(stock[at] as Stock), [field]: value }));
  const hold = (field: keyof Stock) => (value: number | null): boolean => {
    const next = { ...typed.value, [field]: value };
    const { width, length } = next;
    if (width === null || length === null) {
      typed.value = next;
      return true;
    }
    if (!put([...stock, { width, length }])) return false;
    typed.value = { width: null, length: null };
    return true;
  };
  return html`<fieldset class="ticks"><legend>${say("liner.stock")}</legend>
    ${stock.map((size, at) => {
      const name = say("liner.stockNumber", { number: at + 1 });
      return html`<div class="row">
        ${numberBox({ id: `stock-${at}-width`, label: `${say("liner.stockWidth")}, ${name}`, kind: "length", value: size.width, needed: true, set: change(at, "width") })}
        ${numberBox({ id: `stock-${at}-length`, label: `${say("liner.stockLength")}, ${name}`, kind: "length", value: size.length, needed: true, set: change(at, "length") })}
        <button type="button" class="plain" aria-label=${say("rows.removeThis", { name })} @click=${() => put(stock.toSpliced(at, 1))}>${say("app.remove")}</button>
      </div>`;
    })}
    <div class="row">
      ${numberBox({ id: "stock-new-width", label: `${say("liner.stockWidth")}, ${say("liner.stockNew")}`, kind: "length", value: typed.value.width, set: hold("width") })}
      ${numberBox({ id: "stock-new-length", label: `${say("liner.stockLength")}, ${say("liner.stockNew")}`, kind: "length", value: typed.value.length, set: hold("length") })}
    </div>
  </fieldset>`;
}
