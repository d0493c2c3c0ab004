/** Stone on hand in piles, stone of falls, and the machines that set stone: rows to type. */

import { html, nothing } from "lit";
import type { ChartRow, FallStone, Lifter, StonePile } from "../api/stone";
import type { Point } from "../api/types";
import { percent, shown } from "../format/shown";
import { say } from "../format/words";
import { settingTold } from "../plan/stone-fields";
import { fallsOf, streamLine } from "../plan/streams";
import { newestTold } from "../plan/water-fields";
import { closeLeaves, lit } from "../state/desk";
import { narrow } from "../state/narrow";
import type { Json } from "../state/ops";
import { pickPlace } from "../state/pick";
import { type Signal, signal } from "../state/signal";
import type { SitePoint } from "../geometry/types";
import { choiceBox, numberBox, textBox } from "./boxes";
import { figureLine } from "./figures";
import { type RowsOf, addRow, fieldSetter, foldedRow, removeButton } from "./rows";
import { rowsOf } from "./stone-cover";
import { type Stoned, bodyName, className, classChoices, stonePlaceName } from "./stone-parts";
import { stated } from "./stated";
import type { Template } from "./view";

const readSetting = newestTold(settingTold);

/** What was typed for rows that are not there yet, by box. */
const typed: Signal<Readonly<Record<string, number | null>>> = signal<Readonly<Record<string, number | null>>>({});

function newNumber(key: string): { readonly value: number | null; readonly set: (value: number | null) => boolean } {
  return { value: typed.value[key] ?? null, set: (value) => ((typed.value = { ...typed.value, [key]: value }), true) };
}

function forget(...keys: readonly string[]): void {
  typed.value = { ...typed.value, ...Object.fromEntries(keys.map((key) => [key, null])) };
}

export function showPoint([east, north]: SitePoint): Template {
  const show = (): void => {
    lit.value = [[east, north]];
    if (narrow.value) closeLeaves();
  };
  return html`<button type="button" @click=${show}>${say("stone.onPlan")}</button>`;
}

// Piles.

export function stonePilesPart(stone: Stoned): Template {
  const rows = rowsOf(stone, "piles", "stone.pile");
  const mass = newNumber("pile");
  const add = (): void => void (addRow(rows, "pile", { mass: mass.value, status: "existing" }) !== null && forget("pile"));
  return html`<h3>${say("stone.piles")}</h3>
    ${Object.entries(stone.job.stone?.piles ?? {}).map(([id, row]) => pileEntry(stone, rows, id, row))}
    <details class="fold" data-testid="new-stone-pile">
      <summary>${say("stone.newPile")}</summary>
      ${numberBox({ id: "new-stone-pile-mass", label: say("stone.pileMass"), kind: "bulk mass", ...mass })}
      <button type="button" class="primary" data-testid="add-stone-pile" ?disabled=${mass.value === null} @click=${add}>${say("stone.add")}</button>
    </details>`;
}

function pileEntry({ job }: Stoned, rows: RowsOf, id: string, row: StonePile): Template {
  const set = fieldSetter(rows, id);
  const name = row.name || id;
  const at = row.place ? ([row.place.east, row.place.north] as const) : null;
  const put = (): void =>
    pickPlace({ title: name, looks: false, before: at && { place: at, bearing: null }, take: ({ place: [east, north] }) => void set("place")({ at: "point", east, north }) });
  return foldedRow(
    rows,
    id,
    html`<b>${name}</b> <span class="quiet">${shown(row.mass, "bulk mass")} · ${row.stone ? className(job, row.stone) : say("stone.mixed")}</span>`,
    html`${textBox({ id: `stone-piles-${id}-name`, label: say("stone.name"), value: row.name ?? "", otherwise: id, set: set("name") })}
      ${numberBox({ id: `stone-piles-${id}-mass`, label: say("stone.pileMass"), kind: "bulk mass", value: row.mass, needed: true, set: set("mass") })}
      ${choiceBox({ id: `stone-piles-${id}-class`, label: say("stone.pileClass"), value: row.stone ?? "", of: classChoices(job, say("stone.mixed")), set: (one) => void set("stone")(one || null) })}
      <div class="ends"><button type="button" @click=${put}>${say("stone.putPile")}</button> ${at ? showPoint(at) : nothing} ${removeButton(rows, id, name)}</div>`,
  );
}

// Falls.

export function stoneFallsPart(stone: Stoned): Template {
  const { job } = stone;
  const rows = rowsOf(stone, "falls", "stone.fallOne");
  const bodies = Object.keys(job.shape.bodies ?? {});
  const streams = bodies.filter((id) => streamLine(job, id) !== null);
  const width = newNumber("fall");
  const body = streams[0] ?? bodies[0];
  const add = (): void => void (addRow(rows, "fall", { body, width: width.value }) !== null && forget("fall"));
  return html`<h3>${say("stone.falls")}</h3>
    ${Object.entries(job.stone?.falls ?? {}).map(([id, row]) => fallEntry(stone, rows, id, row))}
    ${body === undefined
      ? nothing
      : html`<details class="fold" data-testid="new-stone-fall">
          <summary>${say("stone.newFall")}</summary>
          ${numberBox({ id: "new-stone-fall-width", label: say("stone.faceWidth"), kind: "length", ...width })}
          <button type="button" class="primary" data-testid="add-stone-fall" ?disabled=${width.value === null} @click=${add}>${say("stone.add")}</button>
        </details>`}`;
}

function fallEntry({ session, job, defaults }: Stoned, rows: RowsOf, id: string, row: FallStone): Template {
  const set = fieldSetter(rows, id);
  const name = row.name || id;
  const line = streamLine(job, row.body);
  const steps = Math.max(line ? fallsOf(line).length : 0, (row.step ?? 0) + 1);
  const classes = classChoices(job, say("stone.noClass"));
  return foldedRow(
    rows,
    id,
    html`<b>${name}</b> <span class="quiet">${bodyName(job, row.body)} · ${shown(row.width, "length")}</span>`,
    html`${textBox({ id: `falls-${id}-name`, label: say("stone.name"), value: row.name ?? "", otherwise: id, set: set("name") })}
      ${choiceBox({ id: `falls-${id}-body`, label: say("stone.body"), value: row.body, of: Object.keys(job.shape.bodies ?? {}).map((one) => [one, bodyName(job, one)] as const), set: (one) => void set("body")(one) })}
      ${choiceBox({ id: `falls-${id}-step`, label: say("stone.step"), value: String(row.step ?? 0), of: Array.from({ length: steps }, (_, at) => [String(at), say("stone.stepNumber", { number: at + 1 })] as const), set: (one) => void set("step")(Number(one)) })}
      ${numberBox({ id: `falls-${id}-width`, label: say("stone.faceWidth"), kind: "length", value: row.width, needed: true, set: set("width") })}
      <div class="row">
        ${(["spill", "frame"] as const).map((part) => choiceBox({ id: `falls-${id}-${part}`, label: say(`stone.${part}`), value: row[part] ?? "", of: classes, set: (one) => void set(part)(one || null) }))}
      </div>
      <div class="row">
        ${(["wing", "backing"] as const).map((part) => numberBox({ id: `falls-${id}-${part}`, label: say(`stone.${part}`), kind: "length", value: row[part] ?? null, otherwise: stated(defaults, `stone.falls.*.${part}`, "length"), set: set(part) }))}
      </div>
      <dl class="lines">${["mass", "backing"].map((part) => figureLine(session, `stone.takeoff.falls.${id}.${part}`))}</dl>
      <div class="ends">${removeButton(rows, id, name)}</div>`,
  );
}

// Machines.

export function liftersPart(stone: Stoned): Template {
  const rows = rowsOf(stone, "lifters", "stone.lifter");
  const [radius, capacity] = [newNumber("radius"), newNumber("capacity")];
  const add = (): void => void (addRow(rows, "machine", { chart: [{ radius: radius.value, capacity: capacity.value }] }) !== null && forget("radius", "capacity"));
  return html`<h3>${say("stone.lifters")}</h3>
    <p class="quiet">${say("stone.liftersSay")}</p>
    ${Object.entries(stone.job.stone?.lifters ?? {}).map(([id, row]) => lifterEntry(stone, rows, id, row))}
    ${withinPart(stone)}
    <details class="fold" data-testid="new-lifter">
      <summary>${say("stone.newLifter")}</summary>
      <div class="row">
        ${numberBox({ id: "new-lifter-radius", label: say("stone.radius"), kind: "length", ...radius })}
        ${numberBox({ id: "new-lifter-capacity", label: say("stone.capacity"), kind: "mass", ...capacity })}
      </div>
      <button type="button" class="primary" data-testid="add-lifter" ?disabled=${radius.value === null || capacity.value === null} @click=${add}>${say("stone.add")}</button>
    </details>`;
}

/** What of each course the machines reach from where they stand; told once there is a machine. */
function withinPart({ session, job }: Stoned): Template {
  const within = readSetting(session.frame.value)?.within ?? [];
  if (within.length === 0 || Object.keys(job.stone?.lifters ?? {}).length === 0) return nothing;
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("stone.within")}>
    <table class="plain soil-account long-names" data-testid="stone-within">
      <caption>${say("stone.within")}</caption>
      <thead>
        <tr>${(["place", "heaviest", "share", "largest"] as const).map((column) => html`<th scope="col">${say(`stone.withinColumn.${column}`)}</th>`)}</tr>
      </thead>
      <tbody>
        ${within.map(
          (place) => html`<tr>
            <th scope="row">${stonePlaceName(job, place)}</th>
            <td>${shown(place.mass, "mass")}</td>
            <td class=${place.share < 1 ? "left-over" : ""}>${percent(place.share)}</td>
            <td>${place.largest > 0 ? shown(place.largest, "length") : "–"}</td>
          </tr>`,
        )}
      </tbody>
    </table>
  </div>`;
}

function lifterEntry(stone: Stoned, rows: RowsOf, id: string, row: Lifter): Template {
  const { session, defaults } = stone;
  const set = fieldSetter(rows, id);
  const name = row.name || id;
  const told = readSetting(session.frame.value)?.lifters.find((one) => one.id === id);
  const number = (field: "tool" | "mass" | "contact" | "sling", word: "stone.tool" | "stone.ownMass" | "stone.contact" | "stone.sling", kind: "mass" | "area" | "length"): Template =>
    numberBox({ id: `lifters-${id}-${field}`, label: say(word), kind, value: row[field] ?? null, otherwise: stated(defaults, `stone.lifters.*.${field}`, kind), set: (value) => set(field)(field === "tool" ? (value ?? 0) : value) });
  return foldedRow(
    rows,
    id,
    html`<b>${name}</b> <span class="quiet">${say("stone.standCount", { count: row.stands?.length ?? 0 })}</span>`,
    html`${textBox({ id: `lifters-${id}-name`, label: say("stone.name"), value: row.name ?? "", otherwise: id, set: set("name") })}
      ${chartPart(id, row.chart, (chart) => set("chart")(chart as unknown as Json))} ${reachPart(told?.rows ?? [])}
      <div class="row">${number("tool", "stone.tool", "mass")} ${number("mass", "stone.ownMass", "mass")}</div>
      <div class="row">${number("contact", "stone.contact", "area")} ${number("sling", "stone.sling", "length")}</div>
      ${standsPart(name, row.stands ?? [], (stands) => set("stands")(stands as unknown as Json))}
      <dl class="lines">${["heaviest", "pressure", "pads"].map((figure) => figureLine(session, `stone.setting.lifters.${id}.${figure}`))}</dl>
      <div class="ends">${removeButton(rows, id, name)}</div>`,
  );
}

/** What a chart means in stone: the largest at each radius. */
function reachPart(rows: readonly (readonly [number, number])[]): Template {
  if (rows.length === 0) return nothing;
  return html`<table class="plain soil-account">
    <caption>${say("stone.reachTable")}</caption>
    <thead><tr><th scope="col">${say("stone.radius")}</th><th scope="col">${say("stone.largest")}</th></tr></thead>
    <tbody>${rows.map(([radius, largest]) => html`<tr><th scope="row">${shown(radius, "length")}</th><td>${shown(largest, "length")}</td></tr>`)}</tbody>
  </table>`;
}

const CHART = [["radius", "length"], ["height", "length"], ["capacity", "mass"]] as const;

function chartPart(id: string, chart: readonly ChartRow[], put: (chart: readonly ChartRow[]) => boolean): Template {
  const last = chart.at(-1);
  const add = (): boolean => put([...chart, { ...last, radius: (last?.radius ?? 2) + 1 }]);
  return html`<fieldset class="shares">
    <legend>${say("stone.chart")}</legend>
    ${chart.map(
      (row, at) => html`<div class="row chart-row">
        ${CHART.map(([field, kind]) =>
          numberBox({
            id: `lifters-${id}-${field}-${at}`,
            label: say(field === "height" ? "stone.hookHeight" : `stone.${field}`),
            kind,
            value: row[field] ?? (field === "height" ? 0 : null),
            needed: true,
            set: (value) => value !== null && put(chart.with(at, { ...row, [field]: value })),
          }),
        )}
        ${chart.length > 1 ? html`<button type="button" class="plain" aria-label=${say("stone.takeRow", { number: at + 1 })} @click=${() => put(chart.toSpliced(at, 1))}>${say("app.remove")}</button>` : nothing}
      </div>`,
    )}
    <button type="button" data-testid="lifters-${id}-more" @click=${add}>${say("stone.addRow")}</button>
  </fieldset>`;
}

function standsPart(name: string, stands: readonly Point[], put: (stands: readonly Point[]) => boolean): Template {
  const pick = (): void => pickPlace({ title: say("stone.standOf", { name }), looks: false, before: null, take: ({ place: [east, north] }) => void put([...stands, { east, north }]) });
  return html`<fieldset class="shares">
    <legend>${say("stone.standings")}</legend>
    ${stands.length === 0 ? html`<p class="quiet">${say("stone.noStand")}</p>` : nothing}
    ${stands.map(
      ({ east, north }, at) => html`<div class="ends">
        <span>${say("stone.standNumber", { number: at + 1 })}</span> ${showPoint([east, north])}
        <button type="button" class="plain" aria-label=${say("stone.takeStand", { number: at + 1 })} @click=${() => put(stands.toSpliced(at, 1))}>${say("app.remove")}</button>
      </div>`,
    )}
    <button type="button" data-testid="put-stand" @click=${pick}>${say("stone.putStand")}</button>
  </fieldset>`;
}
