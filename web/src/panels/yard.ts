/** Stones taped at the yard, one after the other, with thumbs and gloves: three tapes, tag, role, truck; each with its place at once. */

import { html, nothing } from "lit";
import { live } from "lit/directives/live.js";
import type { Piece, Role, Stands, StoneShape } from "../api/stone";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { NotRead } from "../format/units";
import { say } from "../format/words";
import { attempt, newId } from "../state/changes";
import { closeLeaf, notice } from "../state/desk";
import { type Json, pointer } from "../state/ops";
import type { Session } from "../state/session";
import { look, units } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import { choiceBox, wordSwitch } from "./boxes";
import { idFrom } from "./stone-cover";
import { ROLES, SHAPES, STANDS, type TapeUnit, nextTag, sidesOf, sizeWords, tagOf, tapeValue } from "./stone-parts";
import { dealtNow, dealtPlace, dealtWords, isLeftOver, isOverloaded, movedStones, truckWords } from "./stone-pieces";
import type { Yard } from "../plan/stone-fields";
import { type Dispose, type Template, mountView } from "./view";

const TAPES = ["first", "second", "third"] as const;
type Tape = (typeof TAPES)[number];
const UNITS: readonly TapeUnit[] = ["in", "ft", "cm", "m"];
const LISTED = 12;

/** The stone in hand; what is the same for the next one stays. */
interface Card {
  readonly tapes: Readonly<Record<Tape, string>>;
  readonly tag: string;
  readonly role: Role;
  readonly truck: string;
  readonly stands: Stands;
  readonly shape: StoneShape;
  readonly fault: string;
  /** Tape that the fault is about. */
  readonly wrong: Tape | null;
}

const NO_TAPES: Card["tapes"] = { first: "", second: "", third: "" };
const card: Signal<Card> = signal<Card>({ tapes: NO_TAPES, tag: "", role: "any", truck: "", stands: "yard", shape: "blocky", fault: "", wrong: null });
/** Unit of a bare number; null is that which goes with the units of the page. */
const tapeUnit: Signal<TapeUnit | null> = signal<TapeUnit | null>(null);
/** Stone that was kept last. */
const last: Signal<string | null> = signal<string | null>(null);
/** Places of the others as they were before it came. */
let before: ReadonlyMap<string, string> = new Map();
/** So many stones that changed their places are told by name. */
const MOVED_TOLD = 4;

export function mountYard(host: HTMLElement, session: Session): Dispose {
  for (const name of ["stone_yard", "stone_setting"]) session.want(name, true, "yard");
  last.value = null;
  const stop = mountView(host, () => {
    const job = session.shown.value;
    return job === null ? nothing : yardCard(host, session, job);
  });
  return () => {
    for (const name of ["stone_yard", "stone_setting"]) session.want(name, false, "yard");
    stop();
  };
}

function unitNow(): TapeUnit {
  return tapeUnit.value ?? (units.value === "metric" ? "cm" : "in");
}

function set(part: Partial<Card>): void {
  card.value = { ...card.value, ...part };
}

function yardCard(host: HTMLElement, session: Session, job: Job): Template {
  const now = card.value;
  const keep = (): void => keepStone(host, session, job);
  return html`<form class="yard-card" data-testid="yard-card" @submit=${(event: Event) => (event.preventDefault(), keep())}>
      ${lastPart(session, job)}
      <div class="tapes" role="group" aria-label=${say("yard.next")}>${TAPES.map((tape) => tapeBox(host, tape, keep))}</div>
      <p class="note" id="tape-order">${say("yard.order")}</p>
      ${now.fault ? html`<p class="fault" role="alert" id="yard-fault" data-testid="yard-fault">${now.fault}</p>` : nothing}
      <div class="tapes two">${lineBox("tag", say("stone.tag"), now.tag, (tag) => set({ tag }))} ${lineBox("truck", say("stone.truck"), now.truck, (truck) => set({ truck }))}</div>
      ${truckPart(session, now.truck.trim())} ${wordSwitch<Role>({ id: "yard-role", label: say("stone.role"), value: now.role, of: ROLES.map((role) => [role, say(`stone.role.${role}`)] as const), set: (role) => set({ role }) })}
      <button type="submit" class="primary keep" data-testid="keep-stone">${say("yard.keep")}</button>
      <details class="fold">
        <summary>${say("yard.more")}</summary>
        ${wordSwitch<TapeUnit>({ id: "tape-unit", label: say("yard.tape"), value: unitNow(), of: UNITS.map((unit) => [unit, say(`yard.unit.${unit}`)] as const), set: (unit) => (tapeUnit.value = unit) })}
        ${choiceBox<Stands>({ id: "yard-stands", label: say("stone.stands"), value: now.stands, of: STANDS.map((one) => [one, say(`stone.stands.${one}`)] as const), set: (stands) => set({ stands }) })}
        ${choiceBox<StoneShape>({ id: "yard-shape", label: say("stone.shape"), value: now.shape, of: SHAPES.map((one) => [one, say(`stone.shape.${one}`)] as const), set: (shape) => set({ shape }) })}
      </details>
      <div class="buttons">
        <button type="button" data-testid="yard-sun" @click=${() => (look.value = look.value === "sun" ? "day" : "sun")}>${say(look.value === "sun" ? "yard.day" : "yard.sun")}</button>
        <button type="button" data-testid="yard-room" @click=${() => closeLeaf()}>${say("yard.showAll")}</button>
      </div>
    </form>
    ${listPart(session, job)}`;
}

function tapeBox(host: HTMLElement, tape: Tape, keep: () => void): Template {
  const { tapes, wrong } = card.value;
  const next = TAPES[TAPES.indexOf(tape) + 1];
  const enter = (event: KeyboardEvent): void => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    if (next) host.querySelector<HTMLInputElement>(`#tape-${next}`)?.focus();
    else keep();
  };
  return html`<div class="tape">
    <label for="tape-${tape}">${say(`yard.${tape}`)}</label>
    <input
      id="tape-${tape}"
      data-testid="tape-${tape}"
      type="text"
      inputmode="decimal"
      enterkeyhint=${next ? "next" : "done"}
      autocomplete="off"
      .value=${live(tapes[tape])}
      placeholder=${unitNow()}
      aria-describedby=${wrong === tape ? "yard-fault" : "tape-order"}
      aria-invalid=${wrong === tape ? "true" : "false"}
      @input=${(event: Event) => set({ tapes: { ...card.value.tapes, [tape]: (event.target as HTMLInputElement).value }, fault: "", wrong: null })}
      @keydown=${enter}
    />
  </div>`;
}

/** How full the truck is, as soon as a stone lies on it. */
function truckPart(session: Session, truck: string): Template {
  const { yard } = dealtNow({ session });
  if (!truck || !yard?.trucks.has(truck)) return nothing;
  return html`<p class="note ${isOverloaded(yard, truck) ? "left-over" : ""}" data-testid="yard-load">${truckWords(yard, truck)}</p>`;
}

function lineBox(name: "tag" | "truck", label: string, value: string, take: (value: string) => void): Template {
  return html`<div class="tape">
    <label for="yard-${name}">${label}</label>
    <input id="yard-${name}" data-testid="yard-${name}" type="text" autocomplete="off" autocapitalize="characters" spellcheck="false" .value=${live(value)} @input=${(event: Event) => take((event.target as HTMLInputElement).value)} />
  </div>`;
}

/** Sides of the stone in hand; says what is wrong, and goes there, where three tapes do not make one. */
function readSides(host: HTMLElement): Pick<Piece, "length" | "width" | "height"> | null {
  const { tapes } = card.value;
  const values: number[] = [];
  for (const tape of TAPES) {
    try {
      if (tapes[tape].trim() === "") throw new NotRead(say("yard.lacks", { which: say(`yard.${tape}`).toLowerCase() }));
      values.push(tapeValue(tapes[tape], unitNow()));
    } catch (fault) {
      if (!(fault instanceof NotRead)) throw fault;
      set({ fault: fault.message, wrong: tape });
      host.querySelector<HTMLInputElement>(`#tape-${tape}`)?.focus();
      return null;
    }
  }
  return sidesOf(values as [number, number, number]);
}

function keepStone(host: HTMLElement, session: Session, job: Job): void {
  const sides = readSides(host);
  if (sides === null) return;
  const { tag, role, truck, stands, shape } = card.value;
  const pieces = job.stone?.pieces ?? {};
  const id = newId(idFrom(tag) || "stone_1", pieces);
  const row: Piece = { ...sides, stands, ...(tag ? { tag: tag.trim() } : {}), ...(role === "any" ? {} : { role }), ...(truck ? { truck: truck.trim() } : {}), ...(shape === "blocky" ? {} : { shape }) };
  const places = new Map([...(dealtNow({ session }).yard?.stones ?? [])].map(([one, { place }]) => [one, place]));
  const kept = attempt(session, say("rows.add", { what: say("stone.stoneCalled", { tag: tag || id }).toLowerCase() }), [{ op: "add", path: pointer("stone", "pieces", id), value: row as unknown as Json }]);
  if (!kept) return set({ fault: notice.value, wrong: null });
  before = places;
  last.value = id;
  const taken = new Set([...Object.values(pieces).map((one) => one.tag ?? ""), tag]);
  set({ tapes: NO_TAPES, tag: nextTag(tag.trim(), taken), fault: "", wrong: null });
  host.querySelector<HTMLInputElement>("#tape-first")?.focus();
}

/** The stone that was kept last: what it is, where it goes, and the way back. */
function lastPart(session: Session, job: Job): Template {
  const id = last.value;
  const row = id === null ? undefined : job.stone?.pieces?.[id];
  if (id === null || row === undefined) return html`<p class="yard-last quiet" role="status" data-testid="yard-last">${say("yard.none")}</p>`;
  const { yard } = dealtNow({ session });
  const mass = row.mass ?? session.figures.value[`stone.yard.stones.${id}.mass`];
  const back = (): void => void (attempt(session, say("rows.remove", { what: say("stone.piece") }), [{ op: "remove", path: pointer("stone", "pieces", id) }]) && (last.value = null));
  return html`<div class="yard-last" data-left=${isLeftOver(yard, id, row) ? "yes" : "no"}>
    <p role="status" data-testid="yard-last">
      <b>${tagOf(id, row)}</b> <span>${sizeWords(row)}</span> ${mass === undefined ? nothing : html`<span>${shown(mass, "mass")}</span>`}
      <strong>${dealtWords(job, yard, id, row)}</strong>
      ${movedPart(job, yard, id)}
    </p>
    <button type="button" data-testid="yard-back" @click=${back}>${say("yard.back")}</button>
  </div>`;
}

/** Other stones that have another place since this one came: nobody sets them by the old list. */
function movedPart(job: Job, yard: Yard | null, id: string): Template {
  if (!yard?.stones.has(id)) return nothing;
  const moved = movedStones(before, yard).filter((one) => one !== id && !job.stone?.pieces?.[one]?.place);
  if (moved.length === 0) return nothing;
  const words = moved.slice(0, MOVED_TOLD).flatMap((one) => {
    const row = job.stone?.pieces?.[one];
    return row ? [say("yard.movedTo", { tag: tagOf(one, row), place: dealtPlace(job, yard, one) })] : [];
  });
  const more = moved.length - words.length;
  const list = [...words, ...(more > 0 ? [say("yard.movedMore", { count: more })] : [])].join("; ");
  return html`<span class="moved" data-testid="yard-moved">${say("yard.moved", { list })}</span>`;
}

/** What was taped so far, the newest first: places change as stones come. */
function listPart(session: Session, job: Job): Template {
  const all = Object.entries(job.stone?.pieces ?? {}).reverse();
  if (all.length === 0) return nothing;
  const { yard } = dealtNow({ session });
  return html`<h3>${say("yard.list")}</h3>
    <ol class="yard-list" data-testid="yard-list">
      ${all.slice(0, LISTED).map(
        ([id, row]) => html`<li data-left=${isLeftOver(yard, id, row) ? "yes" : "no"}>
          <b>${tagOf(id, row)}</b> <span class="quiet">${sizeWords(row)}</span>
          <span>${dealtWords(job, yard, id, row)}</span>
        </li>`,
      )}
    </ol>`;
}
