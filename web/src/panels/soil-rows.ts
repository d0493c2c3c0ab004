/** What soil is moved with and where it may lie: piles, places off the site, trucks, machines, counted loads. */

import { html, nothing } from "lit";
import type { Counted, EarthOfJob, Machine, OffSite, Pile, Takes } from "../api/earth";
import type { DefaultInUse, Job, Place } from "../api/types";
import { shown } from "../format/shown";
import type { Kind } from "../format/units";
import { type Word, say } from "../format/words";
import { middleOfPlace } from "../plan/soil-places";
import { closeLeaves, lit } from "../state/desk";
import { narrow } from "../state/narrow";
import { pickPlace } from "../state/pick";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import { choiceBox, numberBox, textBox } from "./boxes";
import type { FactorsOfKind } from "./factors";
import { figureLine } from "./figures";
import { type RowsOf, addRow, fieldSetter, foldedRow, removeButton } from "./rows";
import { stated } from "./stated";
import type { Template } from "./view";

export interface Earthed {
  readonly session: Session;
  readonly job: Job;
  readonly defaults: readonly DefaultInUse[];
  readonly factors: readonly FactorsOfKind[];
}

type Section = keyof EarthOfJob;

interface FieldSpec {
  readonly name: string;
  readonly word: Word;
  readonly kind: Kind;
  readonly needed?: boolean;
}

const SOILS = ["topsoil", "clay", "silt", "sand", "gravel", "rock", "muck"] as const;
const TAKES = ["any", "topsoil", "soil", "muck"] as const;
const MACHINES = ["excavator", "loader", "dumper"] as const;

const PILE: readonly FieldSpec[] = [
  { name: "most_height", word: "soilwork.height", kind: "length" },
  { name: "angle", word: "soilwork.angle", kind: "angle" },
];
const OFF_SITE: readonly FieldSpec[] = [
  { name: "distance", word: "soilwork.distance", kind: "road length", needed: true },
  { name: "most", word: "soilwork.most", kind: "soil volume" },
];
const TRUCK: readonly FieldSpec[] = [
  { name: "box", word: "soilwork.box", kind: "soil volume", needed: true },
  { name: "payload", word: "soilwork.payload", kind: "bulk mass" },
  { name: "speed", word: "soilwork.speed", kind: "road speed" },
];
/** Asked only while nobody knows what a truck may carry: the law tells it from these. */
const AXLES: readonly FieldSpec[] = [
  { name: "axles", word: "soilwork.axles", kind: "count", needed: true },
  { name: "spread", word: "soilwork.spread", kind: "length" },
  { name: "tare", word: "soilwork.tare", kind: "bulk mass" },
];
const MACHINE: readonly FieldSpec[] = [
  { name: "bucket", word: "soilwork.bucket", kind: "soil volume", needed: true },
  { name: "cycle", word: "soilwork.cycle", kind: "time", needed: true },
  { name: "fill", word: "soilwork.fill", kind: "ratio" },
  { name: "speed", word: "soilwork.speed", kind: "road speed" },
  { name: "efficiency", word: "soilwork.efficiency", kind: "ratio" },
];
const COMPACTOR: readonly FieldSpec[] = [
  { name: "width", word: "soilwork.width", kind: "length" },
  { name: "speed", word: "soilwork.workSpeed", kind: "road speed" },
  { name: "layer", word: "soilwork.layer", kind: "length" },
  { name: "passes", word: "soilwork.passes", kind: "ratio" },
  { name: "efficiency", word: "soilwork.efficiency", kind: "ratio" },
];
const COUNTED: readonly FieldSpec[] = [
  { name: "bank", word: "soilwork.dugVolume", kind: "soil volume", needed: true },
  { name: "loads", word: "soilwork.countedLoads", kind: "count", needed: true },
  { name: "box", word: "soilwork.loadBox", kind: "soil volume", needed: true },
];

function rowsOf({ session, job }: Earthed, section: Section, word: Word): RowsOf {
  return { session, job, at: ["earth", section], label: say(word) };
}

function fieldBoxes({ defaults }: Earthed, rows: RowsOf, id: string, row: object, specs: readonly FieldSpec[]): Template {
  const set = fieldSetter(rows, id);
  return html`<div class="row">
    ${specs.map(({ name, word, kind, needed }) =>
      numberBox({
        id: `${rows.at[1]}-${id}-${name}`,
        label: say(word),
        kind,
        value: (row as Readonly<Record<string, number | null | undefined>>)[name] ?? null,
        needed: needed ?? false,
        otherwise: stated(defaults, `${rows.at.join(".")}.*.${name}`, kind),
        set: (value) => set(name)(kind === "count" && value !== null ? Math.round(value) : value),
      }),
    )}
  </div>`;
}

function nameBox(rows: RowsOf, id: string, name: string | undefined): Template {
  return textBox({ id: `${rows.at[1]}-${id}-name`, label: say("soilwork.name"), value: name ?? "", otherwise: id, set: fieldSetter(rows, id)("name") });
}

function takesBox(rows: RowsOf, id: string, takes: Takes | undefined): Template {
  return choiceBox({
    id: `${rows.at[1]}-${id}-takes`,
    label: say("soilwork.takes"),
    value: takes ?? "any",
    of: TAKES.map((one) => [one, say(`soilwork.takes.${one}`)] as const),
    set: (one) => void fieldSetter(rows, id)("takes")(one),
  });
}

function showOnPlan(place: Place): Template {
  const show = (): void => {
    lit.value = [middleOfPlace(place)];
    if (narrow.value) closeLeaves();
  };
  return html`<button type="button" @click=${show}>${say("soilwork.onPlan")}</button>`;
}

// What is in the job.

export function pilesPart(earth: Earthed): Template {
  const rows = rowsOf(earth, "piles", "soilwork.pile");
  return html`<h3>${say("soilwork.piles")}</h3>
    <p class="quiet">${say("soilwork.pilesSay")}</p>
    ${Object.entries(earth.job.earth?.piles ?? {}).map(([id, pile]) => pileEntry(earth, rows, id, pile))}
    <button type="button" data-testid="draw-pile" @click=${() => (tool.value = "pile")}>${say("soilwork.drawPile")}</button>`;
}

function pileEntry(earth: Earthed, rows: RowsOf, id: string, pile: Pile): Template {
  const name = pile.name || id;
  const stem = `earth.haul.piles.${id}`;
  return foldedRow(
    rows,
    id,
    html`${name} <span class="quiet">${say(`soilwork.takes.${pile.takes ?? "any"}`)} · ${shown(earth.session.figures.value[`${stem}.loose`], "soil volume")}</span>`,
    html`${nameBox(rows, id, pile.name)} ${takesBox(rows, id, pile.takes)} ${fieldBoxes(earth, rows, id, pile, PILE)}
      <dl class="lines">${["loose", "footprint", "height", "angle"].map((figure) => figureLine(earth.session, `${stem}.${figure}`))}</dl>
      <div class="ends">${showOnPlan(pile.place)} ${removeButton(rows, id, name)}</div>`,
  );
}

export function offSitePart(earth: Earthed): Template {
  const rows = rowsOf(earth, "off_site", "soilwork.gate");
  return html`<h3>${say("soilwork.offSite")}</h3>
    ${Object.entries(earth.job.earth?.off_site ?? {}).map(([id, place]) => offSiteEntry(earth, rows, id, place))} ${newOffSite(rows)}`;
}

function offSiteEntry(earth: Earthed, rows: RowsOf, id: string, place: OffSite): Template {
  const { session, job } = earth;
  const name = place.name || id;
  const stem = `earth.haul.gates.${id}`;
  const trucks = Object.entries(job.earth?.trucks ?? {}).map(([key, one]) => [key, one.name || key] as const);
  const set = fieldSetter(rows, id);
  const put = (): void =>
    pickPlace({
      title: say("soilwork.gateOf"),
      looks: false,
      before: { place: middleOfPlace(place.gate), bearing: null },
      take: ({ place: [east, north] }) => void set("gate")({ at: "point", east, north }),
    });
  return foldedRow(
    rows,
    id,
    html`${name} <span class="quiet">${say(`soilwork.way.${place.way}`)} · ${say("soilwork.loads")} ${shown(session.figures.value[`${stem}.loads`], "count")}</span>`,
    html`${nameBox(rows, id, place.name)}
      ${choiceBox({ id: `off_site-${id}-way`, label: say("soilwork.way"), value: place.way, of: (["export", "import"] as const).map((one) => [one, say(`soilwork.way.${one}`)] as const), set: (one) => void set("way")(one) })}
      ${takesBox(rows, id, place.takes)} ${fieldBoxes(earth, rows, id, place, OFF_SITE)}
      ${choiceBox({ id: `off_site-${id}-truck`, label: say("soilwork.truck"), value: place.truck ?? "", of: [["", say("soilwork.standardTruck")] as const, ...trucks], set: (one) => void set("truck")(one || null) })}
      <dl class="lines">${gateFigures(place).map((figure) => figureLine(session, `${stem}.${figure}`))}</dl>
      <div class="ends"><button type="button" @click=${put}>${say("soilwork.putGate")}</button> ${showOnPlan(place.gate)} ${removeButton(rows, id, name)}</div>`,
  );
}

/** A gate that gives soil is loaded by others: no digger of the site waits for its trucks. */
function gateFigures({ way }: OffSite): readonly string[] {
  return way === "export" ? ["loose", "loads", "road_time", "trucks"] : ["loose", "loads", "road_time"];
}

export function trucksPart(earth: Earthed): Template {
  const rows = rowsOf(earth, "trucks", "soilwork.truck");
  return html`<h3>${say("soilwork.trucks")}</h3>
    ${Object.entries(earth.job.earth?.trucks ?? {}).map(([id, truck]) =>
      foldedRow(
        rows,
        id,
        html`${truck.name || id} <span class="quiet">${shown(truck.box, "soil volume")} · ${truck.payload == null ? say("soilwork.byAxles") : shown(truck.payload, "bulk mass")}</span>`,
        html`${nameBox(rows, id, truck.name)} ${fieldBoxes(earth, rows, id, truck, TRUCK)}
          ${truck.payload == null ? fieldBoxes(earth, rows, id, { axles: 3, ...truck }, AXLES) : nothing}
          <div class="ends">${removeButton(rows, id, truck.name || id)}</div>`,
      ),
    )}
    ${newRow(rows, { what: "truck", specs: TRUCK, stem: "truck" })}`;
}

export function machinesPart(earth: Earthed): Template {
  const rows = rowsOf(earth, "machines", "soilwork.machine");
  return html`<h3>${say("soilwork.machines")}</h3>
    ${Object.entries(earth.job.earth?.machines ?? {}).map(([id, machine]) => machineEntry(earth, rows, id, machine))}
    ${newRow(rows, { what: "machine", specs: MACHINE, stem: "machine", kinds: MACHINES.map((one) => [one, say(`soilwork.machine.${one}`)] as const), label: say("soilwork.machine") })}`;
}

function machineEntry(earth: Earthed, rows: RowsOf, id: string, machine: Machine): Template {
  const name = machine.name || id;
  return foldedRow(
    rows,
    id,
    html`${name} <span class="quiet">${say(`soilwork.machine.${machine.kind}`)} · ${shown(machine.bucket, "soil volume")}</span>`,
    html`${nameBox(rows, id, machine.name)}
      ${choiceBox({ id: `machines-${id}-kind`, label: say("soilwork.machine"), value: machine.kind, of: MACHINES.map((one) => [one, say(`soilwork.machine.${one}`)] as const), set: (one) => void fieldSetter(rows, id)("kind")(one) })}
      ${fieldBoxes(earth, rows, id, machine, MACHINE)}
      <dl class="lines">${figureLine(earth.session, `earth.haul.machines.${id}.hours`)}</dl>
      <div class="ends">${removeButton(rows, id, name)}</div>`,
  );
}

export function compactorsPart(earth: Earthed): Template {
  const rows = rowsOf(earth, "compactors", "soilwork.compactor");
  return html`<h3>${say("soilwork.compactors")}</h3>
    ${Object.entries(earth.job.earth?.compactors ?? {}).map(([id, compactor]) =>
      foldedRow(
        rows,
        id,
        html`${compactor.name || id}`,
        html`${nameBox(rows, id, compactor.name)} ${fieldBoxes(earth, rows, id, compactor, COMPACTOR)}
          <dl class="lines">${figureLine(earth.session, `earth.haul.machines.${id}.hours`)}</dl>
          <div class="ends">${removeButton(rows, id, compactor.name || id)}</div>`,
      ),
    )}
    ${newRow(rows, { what: "compactor", specs: COMPACTOR, stem: "roller" })}`;
}

// Loads that were counted.

/** How much a soil swelled, by the loads that were counted: loose for one in the bank. */
export function countedBulking({ bank, loads, box }: Pick<Counted, "bank" | "loads" | "box">): number {
  return (loads * box) / bank;
}

export function countedPart(earth: Earthed): Template {
  const rows = rowsOf(earth, "counted", "soilwork.countedOne");
  return html`<h3>${say("soilwork.counted")}</h3>
    <p class="quiet">${say("soilwork.countedSay")}</p>
    ${Object.entries(earth.job.earth?.counted ?? {}).map(([id, row]) => countedEntry(earth, rows, id, row))}
    ${newRow(rows, { what: "counted", specs: COUNTED, stem: "count", kinds: SOILS.map((one) => [one, say(`soil.${one}`)] as const), label: say("soilwork.kind") })}`;
}

function countedEntry(earth: Earthed, rows: RowsOf, id: string, row: Counted): Template {
  const kind = say(`soil.${row.kind}`);
  const value = shown(countedBulking(row), "ratio");
  const used = earth.factors.find((one) => one.kind === row.kind)?.values.bulking;
  const words = used === undefined ? say("soilwork.tellsAlone", { kind, value }) : say("soilwork.tells", { kind, value, used: shown(used, "ratio") });
  return foldedRow(
    rows,
    id,
    html`${row.name || id} <span class="quiet" data-testid="counted-${id}">${words}</span>`,
    html`${fieldBoxes(earth, rows, id, row, COUNTED)}
      <div class="ends">${removeButton(rows, id, row.name || id)}</div>`,
  );
}

// A row that is not there yet: its needed numbers are asked before it is put in.

interface NewRow {
  readonly what: "truck" | "machine" | "compactor" | "counted";
  readonly specs: readonly FieldSpec[];
  readonly stem: string;
  readonly kinds?: readonly (readonly [string, string])[];
  readonly label?: string;
}

type Typed = Readonly<Record<string, number | string | null>>;

const typed: Signal<Readonly<Record<string, Typed>>> = signal<Readonly<Record<string, Typed>>>({});

function type(what: string, name: string, value: number | string | null): boolean {
  typed.value = { ...typed.value, [what]: { ...typed.value[what], [name]: value } };
  return true;
}

function newRow(rows: RowsOf, { what, specs, stem, kinds, label = "" }: NewRow): Template {
  const own = typed.value[what] ?? {};
  const needed = specs.filter((one) => one.needed);
  const isWhole = needed.every(({ name }) => typeof own[name] === "number");
  const kind = String(own["kind"] ?? kinds?.[0]?.[0] ?? "");
  const add = (): void => {
    const numbers = Object.fromEntries(needed.map((one) => [one.name, one.kind === "count" ? Math.round(Number(own[one.name])) : own[one.name]]));
    if (addRow(rows, stem, { ...(kinds ? { kind } : {}), ...numbers }) !== null) typed.value = { ...typed.value, [what]: {} };
  };
  return html`<details class="fold" data-testid="new-${what}">
    <summary>${say(`soilwork.new.${what}`)}</summary>
    ${kinds ? choiceBox({ id: `new-${what}-kind`, label, value: kind, of: kinds, set: (one) => void type(what, "kind", one) }) : nothing}
    <div class="row">
      ${needed.map(({ name, word, kind: measure }) => numberBox({ id: `new-${what}-${name}`, label: say(word), kind: measure, value: numberOf(own[name]), set: (value) => type(what, name, value) }))}
    </div>
    <button type="button" class="primary" data-testid="add-${what}" ?disabled=${!isWhole} @click=${add}>${say("soilwork.add")}</button>
  </details>`;
}

function numberOf(value: number | string | null | undefined): number | null {
  return typeof value === "number" ? value : null;
}

function newOffSite(rows: RowsOf): Template {
  const own = typed.value["offSite"] ?? {};
  const way = String(own["way"] ?? "export");
  const distance = numberOf(own["distance"]);
  const put = (): void =>
    pickPlace({
      title: say("soilwork.gateOf"),
      looks: false,
      before: null,
      take: ({ place: [east, north] }) => {
        const value = { way, distance, gate: { at: "point", east, north } };
        if (addRow(rows, way === "export" ? "tip" : "source", value) !== null) typed.value = { ...typed.value, offSite: {} };
      },
    });
  return html`<details class="fold" data-testid="new-offSite">
    <summary>${say("soilwork.new.offSite")}</summary>
    ${choiceBox({ id: "new-offSite-way", label: say("soilwork.way"), value: way, of: [["export", say("soilwork.tip")], ["import", say("soilwork.brought")]], set: (one) => void type("offSite", "way", one) })}
    ${numberBox({ id: "new-offSite-distance", label: say("soilwork.distance"), kind: "road length", value: distance, set: (value) => type("offSite", "distance", value) })}
    <button type="button" class="primary" data-testid="add-offSite" ?disabled=${distance === null} @click=${put}>${say("soilwork.putGate")}</button>
  </details>`;
}
