/** What covers the bank and of which classes it is made: rows to type, each with what it comes to. */

import { html, nothing } from "lit";
import type { Share, StoneClass, Treatment, TreatmentKind, TreatmentPlace } from "../api/stone";
import type { Job, Place } from "../api/types";
import { percent } from "../format/shown";
import type { Kind } from "../format/units";
import { type Word, say } from "../format/words";
import { OUTER, pegPoint, ringOf, ringsOf, stretchPoints } from "../plan/rings";
import type { SitePoint } from "../geometry/types";
import { closeLeaves, lit } from "../state/desk";
import { narrow } from "../state/narrow";
import type { Json } from "../state/ops";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import { choiceBox, numberBox, textBox } from "./boxes";
import { figureLine } from "./figures";
import { type RowsOf, addRow, fieldSetter, foldedRow, removeButton } from "./rows";
import { KINDS, SHAPES, type Stoned, bodyName, className, classChoices, isLayer, isOfStone, placeWords, rangeWords, treatmentName, withClass, withShare, withoutClass, zoneNames } from "./stone-parts";
import { tonsOf } from "./stone-told";
import { stated } from "./stated";
import type { Template } from "./view";

const PLACES = ["stretch", "part", "whole"] as const;

export function rowsOf({ session, job }: Stoned, section: string, word: Word): RowsOf {
  return { session, job, at: ["stone", section], label: say(word) };
}

// What covers the bank.

export function treatmentsPart(stone: Stoned): Template {
  const rows = rowsOf(stone, "treatments", "stone.treatment");
  const all = Object.entries(stone.job.stone?.treatments ?? {});
  return html`<h3>${say("stone.treatments")}</h3>
    ${all.length === 0 ? html`<p class="quiet">${say("stone.noTreatment")}</p>` : nothing} ${all.map(([id, row]) => treatmentEntry(stone, rows, id, row))}
    ${newTreatment(stone, rows)}`;
}

function treatmentEntry(stone: Stoned, rows: RowsOf, id: string, row: Treatment): Template {
  const { job } = stone;
  const set = fieldSetter(rows, id);
  const name = treatmentName(job, id);
  return foldedRow(
    rows,
    id,
    html`<b>${name}</b> <span class="quiet">${[row.name ? placeWords(job, row.place) : "", tonsOf(stone, id)].filter(Boolean).join(" · ")}</span>`,
    html`${textBox({ id: `treatments-${id}-name`, label: say("stone.name"), value: row.name ?? "", otherwise: name, set: set("name") })}
      ${choiceBox<TreatmentKind>({ id: `treatments-${id}-kind`, label: say("stone.kind"), value: row.kind, of: KINDS.map((kind) => [kind, say(`stone.kind.${kind}`)] as const), set: (kind) => void set("kind")(kind) })}
      ${placeBoxes(job, `treatments-${id}`, row.place, (place) => set("place")(place as unknown as Json))} ${isOfStone(row.kind) ? sharesPart(stone, id, row, set("classes")) : nothing}
      ${measureBoxes(stone, id, row, set)} ${holdsPart(stone, id)}
      <div class="ends">${showOnPlan(job, row.place)} ${removeButton(rows, id, name)}</div>`,
  );
}

/** Whether it slides, and which water and waves move it. */
function holdsPart({ session, figures }: Stoned, id: string): Template {
  const stem = `stone.setting.holds.${id}`;
  if (figures[`${stem}.speed`] === undefined) return nothing;
  return html`<h4>${say("stone.holds")}</h4>
    <dl class="lines">${["safety", "speed", "wave", "wave_size"].map((name) => figureLine(session, `${stem}.${name}`))}</dl>`;
}

function measureBoxes({ defaults }: Stoned, id: string, row: Treatment, set: (field: string) => (value: Json) => boolean): Template {
  const box = (name: "gap" | "thickness" | "porosity", word: Word, kind: Kind, otherwise = stated(defaults, `stone.treatments.*.${name}`, kind)): Template =>
    numberBox({ id: `treatments-${id}-${name}`, label: say(word), kind, value: row[name] ?? null, otherwise, set: set(name) });
  if (row.kind === "courses")
    return html`<div class="row">
      ${numberBox({ id: `treatments-${id}-courses`, label: say("stone.courses"), kind: "count", value: row.courses ?? 1, needed: true, set: (value) => value !== null && set("courses")(Math.round(value)) })}
      ${box("gap", "stone.gap", "ratio")}
    </div>`;
  if (!isLayer(row.kind)) return nothing;
  return html`<div class="row">${box("thickness", "stone.thickness", "length", say("stone.thicknessOwn"))} ${box("porosity", "stone.porosity", "ratio")}</div>`;
}

/** Shares of the classes: one that is set leaves the others what remains. */
function sharesPart({ job }: Stoned, id: string, { classes = [] }: Treatment, set: (value: Json) => boolean): Template {
  const put = (shares: readonly Share[]): boolean => set(shares as unknown as Json);
  const left = classChoices(job, say("stone.choose")).filter(([stone]) => classes.every((one) => one.stone !== stone));
  return html`<fieldset class="shares">
    <legend>${say("stone.shares")}</legend>
    ${classes.length === 0 ? html`<p class="quiet">${say("stone.noClass")}</p>` : nothing}
    ${classes.map(
      (one, at) => html`<div class="row">
        ${numberBox({ id: `treatments-${id}-share-${one.stone}`, label: say("stone.shareOf", { name: className(job, one.stone) }), kind: "ratio", value: one.share, note: percent(one.share), needed: true, set: (share) => share !== null && put(withShare(classes, at, share)) })}
        <button type="button" class="plain" aria-label=${say("stone.takeClass", { name: className(job, one.stone) })} @click=${() => put(withoutClass(classes, at))}>${say("app.remove")}</button>
      </div>`,
    )}
    ${left.length > 1 ? choiceBox({ id: `treatments-${id}-put`, label: say("stone.putClass"), value: "", of: left, set: (stone) => void (stone && put(withClass(classes, stone))) }) : nothing}
  </fieldset>`;
}

/** Boxes of where a cover lies; another kind of place begins with the first that there is. */
export function placeBoxes(job: Job, stem: string, place: TreatmentPlace, put: (place: TreatmentPlace) => boolean): Template {
  const bodies = Object.keys(job.shape.bodies ?? {}).map((id): readonly [string, string] => [id, bodyName(job, id)]);
  const body = place.body ?? bodies[0]?.[0] ?? "";
  return html`${choiceBox<TreatmentPlace["at"]>({ id: `${stem}-at`, label: say("stone.where"), value: place.at, of: PLACES.map((at) => [at, say(`stone.where.${at}`)] as const), set: (at) => void put(firstPlace(job, at, body)) })}
  ${place.at === "stretch" ? stretchBoxes(job, stem, place, put) : nothing}
  ${place.at !== "stretch" && bodies.length > 1 ? choiceBox({ id: `${stem}-body`, label: say("stone.body"), value: body, of: bodies, set: (one) => void put({ ...place, body: one }) }) : nothing}
  ${place.at === "part"
    ? choiceBox({ id: `${stem}-zone`, label: say("stone.zone"), value: String(place.zone), of: zoneNames(job, place.body).map((name, zone) => [String(zone), name] as const), set: (zone) => void put({ ...place, zone: Number(zone) }) })
    : nothing}`;
}

function stretchBoxes(job: Job, stem: string, place: Extract<TreatmentPlace, { at: "stretch" }>, put: (place: TreatmentPlace) => boolean): Template {
  const rings = ringsOf(job).filter(({ open }) => !open);
  const ring = rings.find((one) => one.body === place.body && one.ring === (place.ring ?? OUTER));
  const pegs = (ring?.curve.pegs ?? []).map(({ id }) => [id, id] as const);
  const named = rings.map((one): readonly [string, string] => [`${one.body} ${one.ring}`, one.ring === OUTER ? bodyName(job, one.body) : say("stone.ofIsland", { ring: one.ring })]);
  const setRing = (name: string): void => {
    const [body = "", own = OUTER] = name.split(" ");
    void put(firstStretch(job, body, own));
  };
  return html`${named.length > 1 ? choiceBox({ id: `${stem}-ring`, label: say("stone.of"), value: `${place.body} ${place.ring ?? OUTER}`, of: named, set: setRing }) : nothing}
    <div class="row">
      ${choiceBox({ id: `${stem}-start`, label: say("stone.from"), value: place.start, of: pegs, set: (start) => void put({ ...place, start }) })}
      ${choiceBox({ id: `${stem}-end`, label: say("stone.to"), value: place.end, of: pegs, set: (end) => void put({ ...place, end }) })}
    </div>`;
}

/** A first place of a kind, on a body. */
export function firstPlace(job: Job, at: TreatmentPlace["at"], body: string): TreatmentPlace {
  if (at === "whole") return { at, body };
  return at === "part" ? { at, body, zone: 0 } : firstStretch(job, body, OUTER);
}

function firstStretch(job: Job, body: string, ring: string): TreatmentPlace {
  const pegs = ringOf(job, { body, ring })?.curve.pegs ?? [];
  return { at: "stretch", body, ...(ring === OUTER ? {} : { ring }), start: pegs[0]?.id ?? "", end: pegs[1]?.id ?? "" };
}

function showOnPlan(job: Job, place: TreatmentPlace): Template {
  const show = (): void => {
    lit.value = pointsOfTreatment(job, place);
    if (narrow.value) closeLeaves();
  };
  return html`<button type="button" @click=${show}>${say("stone.onPlan")}</button>`;
}

function pointsOfTreatment(job: Job, place: TreatmentPlace): SitePoint[] {
  if (place.at === "stretch") {
    const ring = ringOf(job, { body: place.body, ring: place.ring ?? OUTER });
    return ring ? stretchPoints(ring, place) : [];
  }
  return (job.shape.bodies?.[place.body ?? ""]?.outline.curve.pegs ?? []).map(pegPoint);
}

interface NewTreatment {
  readonly kind: TreatmentKind;
  readonly stone: string;
  readonly place: TreatmentPlace | null;
}

const fresh: Signal<NewTreatment> = signal<NewTreatment>({ kind: "courses", stone: "", place: null });

/** Row of a cover that begins: of one class, if one was told. */
export function treatmentRow(kind: TreatmentKind, place: Place | TreatmentPlace, stone: string): Readonly<Record<string, unknown>> {
  return { place, kind, ...(stone && isOfStone(kind) ? { classes: [{ stone, share: 1 }] } : {}) };
}

function newTreatment({ job }: Stoned, rows: RowsOf): Template {
  const body = Object.keys(job.shape.bodies ?? {})[0];
  if (body === undefined) return html`<p class="quiet">${say("shape.noBody")}</p>`;
  const { kind, stone, place } = fresh.value;
  const where = place ?? firstPlace(job, "stretch", body);
  const add = (): void => {
    if (addRow(rows, kind, treatmentRow(kind, where, stone)) !== null) fresh.value = { ...fresh.value, place: null };
  };
  return html`<details class="fold" data-testid="new-treatment">
      <summary>${say("stone.newTreatment")}</summary>
      ${choiceBox<TreatmentKind>({ id: "new-treatment-kind", label: say("stone.kind"), value: kind, of: KINDS.map((one) => [one, say(`stone.kind.${one}`)] as const), set: (one) => (fresh.value = { ...fresh.value, kind: one }) })}
      ${placeBoxes(job, "new-treatment", where, (next) => ((fresh.value = { ...fresh.value, place: next }), true))}
      ${isOfStone(kind) ? choiceBox({ id: "new-treatment-class", label: say("stone.shares"), value: stone, of: classChoices(job, say("stone.noClass")), set: (one) => (fresh.value = { ...fresh.value, stone: one }) }) : nothing}
      <button type="button" class="primary" data-testid="add-treatment" @click=${add}>${say("stone.add")}</button>
    </details>
    <p><button type="button" data-testid="draw-treatment" @click=${() => (tool.value = "treatment")}>${say("stone.fromPlan")}</button></p>`;
}

// Classes.

export function classesPart(stone: Stoned): Template {
  const rows = rowsOf(stone, "classes", "stone.class");
  const all = Object.entries(stone.job.stone?.classes ?? {});
  return html`<h3>${say("stone.classes")}</h3>
    ${all.length === 0 ? html`<p class="quiet">${say("stone.noClasses")}</p>` : nothing} ${all.map(([id, row]) => classEntry(stone, rows, id, row))} ${newClass(rows)}`;
}

function classEntry(stone: Stoned, rows: RowsOf, id: string, row: StoneClass): Template {
  const { job, defaults } = stone;
  const set = fieldSetter(rows, id);
  const name = row.name || id;
  const items = Object.entries(job.catalogue ?? {}).map(([key, item]): readonly [string, string] => [key, (item as { readonly name?: string }).name || key]);
  const user = userOf(job, id);
  return foldedRow(
    rows,
    id,
    html`<b>${name}</b> <span class="quiet">${rangeWords(row)} · ${say(`stone.shape.${row.shape ?? "blocky"}`)}</span>`,
    html`${textBox({ id: `classes-${id}-name`, label: say("stone.name"), value: row.name ?? "", otherwise: id, set: set("name") })}
      <div class="row">
        ${(["low", "high"] as const).map((side) => numberBox({ id: `classes-${id}-${side}`, label: say(`stone.${side}`), kind: "length", value: row[side], needed: true, set: set(side) }))}
      </div>
      ${shapeBox(`classes-${id}-shape`, row.shape, (shape) => void set("shape")(shape))}
      ${numberBox({ id: `classes-${id}-density`, label: say("stone.density"), kind: "density", value: row.solid_density ?? null, otherwise: stated(defaults, "stone.classes.*.solid_density", "density"), set: set("solid_density") })}
      ${items.length > 0 ? choiceBox({ id: `classes-${id}-item`, label: say("stone.item"), value: row.item ?? "", of: [["", say("stone.itemNone")], ...items], set: (item) => void set("item")(item || null) }) : nothing}
      <div class="ends">${user === null ? removeButton(rows, id, name) : html`<span class="quiet">${say("stone.inUse", { name, user })}</span>`}</div>`,
  );
}

export function shapeBox(id: string, shape: StoneClass["shape"], set: (shape: NonNullable<StoneClass["shape"]>) => void): Template {
  return choiceBox({ id, label: say("stone.shape"), value: shape ?? "blocky", of: SHAPES.map((one) => [one, say(`stone.shape.${one}`)] as const), set });
}

/** Name of a row that names a class; null when none does. */
export function userOf(job: Job, id: string): string | null {
  const { treatments = {}, piles = {}, falls = {} } = job.stone ?? {};
  const treatment = Object.entries(treatments).find(([, row]) => row.classes?.some((one) => one.stone === id));
  if (treatment) return treatmentName(job, treatment[0]);
  const other = [...Object.entries(piles).filter(([, row]) => row.stone === id), ...Object.entries(falls).filter(([, row]) => row.spill === id || row.frame === id)][0];
  return other ? other[1].name || other[0] : null;
}

interface NewClass {
  readonly name: string;
  readonly low: number | null;
  readonly high: number | null;
  readonly shape: NonNullable<StoneClass["shape"]>;
}

const NO_CLASS: NewClass = { name: "", low: null, high: null, shape: "blocky" };
const freshClass: Signal<NewClass> = signal(NO_CLASS);

function newClass(rows: RowsOf): Template {
  const { name, low, high, shape } = freshClass.value;
  const set = <K extends keyof NewClass>(key: K) => (value: NewClass[K]): boolean => {
    freshClass.value = { ...freshClass.value, [key]: value };
    return true;
  };
  const add = (): void => {
    if (addRow(rows, idFrom(name) || "stone", { ...(name ? { name } : {}), low, high, shape }) !== null) freshClass.value = NO_CLASS;
  };
  return html`<details class="fold" data-testid="new-class">
    <summary>${say("stone.newClass")}</summary>
    ${textBox({ id: "new-class-name", label: say("stone.name"), value: name, set: set("name") })}
    <div class="row">${(["low", "high"] as const).map((side) => numberBox({ id: `new-class-${side}`, label: say(`stone.${side}`), kind: "length", value: side === "low" ? low : high, set: set(side) }))}</div>
    ${shapeBox("new-class-shape", shape, set("shape"))}
    <button type="button" class="primary" data-testid="add-class" ?disabled=${low === null || high === null} @click=${add}>${say("stone.add")}</button>
  </details>`;
}

/** A name as an id of the document: small letters, digits and underscores. */
export function idFrom(name: string): string {
  return name
    .toLowerCase()
    .normalize("NFD")
    .replaceAll(/[^a-z0-9]+/g, "_")
    .replaceAll(/^_+|_+$/g, "")
    .replace(/^(\d)/, "c_$1")
    .slice(0, 40);
}
