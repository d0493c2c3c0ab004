/** Lines not to cross, and buried services: drawn on the plan, or typed as a list of places. */

import { html, nothing } from "lit";
import type { Bound, Job, Place, Thing } from "../api/types";
import { day } from "../format/dates";
import { shown } from "../format/shown";
import { NotRead } from "../format/units";
import { said, say } from "../format/words";
import { type Numbered, numbered } from "../state/checks";
import { closeLeaves, lit, notice, openNext } from "../state/desk";
import { narrow } from "../state/narrow";
import type { Session } from "../state/session";
import { units } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import { BOUND_KINDS, type LineWhat, SERVICES, boundRow, closesUsually, lineWhat, pointsThrough, serviceRow, servicesOf } from "../plan/line-kinds";
import { placeOfText, textOfPlace } from "./bound-places";
import { choiceBox, dayBox, longBox, numberBox, textBox, tickBox } from "./boxes";
import { gradeMark } from "./checks";
import { type RowsOf, addRow, fieldSetter, foldedRow, putRow, removeButton } from "./rows";
import { type Dispose, type Template, mountView } from "./view";

type Typing = "bound" | "service" | "";

/** How many lines and services there are. */
export function boundsSays(_session: Session, job: Job): string {
  const lines = Object.keys(job.site.bounds ?? {}).length;
  const services = servicesOf(job).length;
  return lines + services === 0 ? say("bounds.none") : say("bounds.count", { lines, services });
}

export function mountBounds(host: HTMLElement, session: Session): Dispose {
  const typing = signal<Typing>("");
  const text = signal("");
  return mountView(host, () => {
    const job = session.shown.value;
    if (job === null) return nothing;
    const bounds: RowsOf = { session, job, at: ["site", "bounds"], label: say("bounds.line") };
    const things: RowsOf = { session, job, at: ["site", "things"], label: say("bounds.service") };
    return html`<h3>${say("bounds.title")}</h3>
      <p class="quiet">${say("bounds.says")}</p>
      ${Object.entries(job.site.bounds ?? {}).map(([id, bound]) => boundEntry(bounds, id, bound))}
      ${adding(bounds, { as: "bound", typing, text })}
      <h3>${say("bounds.services")}</h3>
      <p class="quiet">${say("bounds.servicesSay")}</p>
      ${servicesOf(job).map(([id, thing]) => serviceEntry(things, id, thing))} ${adding(things, { as: "service", typing, text })}`;
  });
}

interface Adding {
  readonly as: "bound" | "service";
  readonly typing: Signal<Typing>;
  readonly text: Signal<string>;
}

/** Draw the next one, or type it. */
function adding(rows: RowsOf, { as, typing, text }: Adding): Template {
  const what: LineWhat = lineWhat.value.as === as ? lineWhat.value : as === "bound" ? { as, kind: "boundary" } : { as, kind: "water" };
  const draw = (): void => {
    lineWhat.value = what;
    tool.value = "boundary";
  };
  const type = (): void => {
    lineWhat.value = what;
    text.value = "";
    typing.value = typing.value === as ? "" : as;
  };
  const add = (): boolean => {
    const closed = what.as === "bound" && closesUsually(what.kind);
    const place = read(text.value, closed, null);
    if (place === null) return false;
    const row = what.as === "bound" ? boundRow(what.kind, place, { name: "", clear: null }) : serviceRow(what.kind as never, place, { name: "", clear: null, depth: null, isPrivate: false });
    if (addRow(rows, as === "service" ? `${what.kind}_line` : what.kind, row) === null) return false;
    typing.value = "";
    return true;
  };
  const kinds =
    as === "bound"
      ? BOUND_KINDS.map((kind) => [kind as string, say(`plan.bound.${kind}`)] as const)
      : SERVICES.map((kind) => [kind as string, say(`plan.service.${kind}`)] as const);
  return html`<div class="buttons">
      <button type="button" data-testid="${as}-draw" @click=${draw}>${say(as === "bound" ? "bounds.draw" : "bounds.drawService")}</button>
      <button type="button" data-testid="${as}-type" aria-expanded=${typing.value === as ? "true" : "false"} @click=${type}>${say("bounds.type")}</button>
    </div>
    ${typing.value === as
      ? html`<div class="typing">
          ${choiceBox({ id: `${as}-new-kind`, label: say("plan.box.kind"), value: what.kind as string, of: kinds, set: (kind) => (lineWhat.value = { as, kind } as LineWhat) })}
          ${longBox({ id: `${as}-new-places`, label: say("bounds.places"), value: text.value, rows: 4, note: say("bounds.placesNote"), set: (value) => ((text.value = value), true) })}
          <button type="button" class="primary" data-testid="${as}-add" @click=${add}>${say("bounds.add")}</button>
        </div>`
      : nothing}`;
}

/** Place of a typed text, or null with what is wrong said to everybody. */
function read(text: string, closed: boolean, before: Place | null): Place | null {
  try {
    return placeOfText(text, closed, units.value, before);
  } catch (fault) {
    if (!(fault instanceof NotRead)) throw fault;
    notice.value = fault.message;
    return null;
  }
}

function boundEntry(rows: RowsOf, id: string, bound: Bound): Template {
  const set = fieldSetter(rows, id);
  const name = bound.name || say(`plan.bound.${bound.kind}`);
  const found = findingsOf(rows.session, `site.bounds.${id}`);
  const isRing = bound.place.at === "ring";
  const keeps = [
    ["", say(bound.kind === "boundary" && isRing ? "bounds.keepUsualInside" : "bounds.keepUsualOutside")],
    ...(isRing ? [["inside", say("bounds.keepInside")] as const] : []),
    ["outside", say("bounds.keepOutside")],
  ] as const;
  return foldedRow(
    rows,
    id,
    html`${name} <span class="quiet">${bound.name ? say(`plan.bound.${bound.kind}`) : ""} ${bound.clear ? say("bounds.clearBy", { value: shown(bound.clear, "length") }) : ""}</span> ${worst(found)}`,
    html`${findingButtons(found)}
      ${choiceBox({ id: `bound-${id}-kind`, label: say("plan.box.kind"), value: bound.kind, of: BOUND_KINDS.map((kind) => [kind, say(`plan.bound.${kind}`)] as const), set: (kind) => void set("kind")(kind) })}
      ${textBox({ id: `bound-${id}-name`, label: say("plan.box.name"), value: bound.name ?? "", set: set("name") })}
      ${choiceBox<string>({ id: `bound-${id}-keep`, label: say("bounds.keep"), value: bound.keep ?? "", of: keeps, set: (keep) => void set("keep")(keep || null) })}
      ${numberBox({ id: `bound-${id}-clear`, label: say("bounds.clear"), kind: "length", value: bound.clear || null, otherwise: say("box.default"), set: set("clear") })}
      ${placesBox(rows, id, bound, true)}
      <div class="ends">${showButton(bound.place)} ${removeButton(rows, id, name)}</div>`,
  );
}

function serviceEntry(rows: RowsOf, id: string, thing: Thing): Template {
  const set = fieldSetter(rows, id);
  const service = thing.service ?? "other";
  const name = thing.name || say(`plan.service.${service}`);
  const found = findingsOf(rows.session, `site.things.${id}`);
  const marked = thing.private ? say("bounds.private") : thing.marked_until ? say("bounds.markedUntil", { day: day(thing.marked_until) }) : say("bounds.notMarked");
  return foldedRow(
    rows,
    id,
    html`${name} <span class="quiet">${thing.name ? say(`plan.service.${service}`) : ""} ${marked}</span> ${worst(found)}`,
    html`${findingButtons(found)}
      ${choiceBox({ id: `service-${id}-kind`, label: say("bounds.carries"), value: service, of: SERVICES.map((one) => [one, say(`plan.service.${one}`)] as const), set: (one) => void set("service")(one) })}
      ${textBox({ id: `service-${id}-name`, label: say("plan.box.name"), value: thing.name ?? "", set: set("name") })}
      <div class="row">
        ${numberBox({ id: `service-${id}-depth`, label: say("bounds.depth"), kind: "length", value: thing.depth ?? null, set: set("depth") })}
        ${numberBox({ id: `service-${id}-sure`, label: say("bounds.sure"), kind: "length", value: thing.sure ?? null, otherwise: say("box.default"), set: set("sure") })}
      </div>
      ${tickBox({ id: `service-${id}-private`, label: say("bounds.isPrivate"), value: thing.private ?? false, set: (yes) => void set("private")(yes) })}
      ${thing.private
        ? nothing
        : html`<div class="row">
            ${textBox({ id: `service-${id}-ticket`, label: say("bounds.ticket"), value: thing.ticket ?? "", set: set("ticket") })}
            ${dayBox({ id: `service-${id}-marked`, label: say("bounds.marked"), value: thing.marked_until ?? null, set: set("marked_until") })}
          </div>`}
      ${numberBox({ id: `service-${id}-clear`, label: say("bounds.clear"), kind: "length", value: thing.clear ?? null, set: set("clear") })}
      ${thing.place.at === "point" ? nothing : placesBox(rows, id, thing, false)}
      <div class="ends">${showButton(thing.place)} ${removeButton(rows, id, name)}</div>`,
  );
}

/** The places of a line to type over; nothing where it runs along a shore. */
function placesBox(rows: RowsOf, id: string, row: Bound | Thing, mayClose: boolean): Template {
  const { place } = row;
  if (pointsThrough(place).length === 0) return nothing;
  const put = (text: string, closed: boolean): boolean => {
    const next = read(text, closed, place);
    if (next === null) return false;
    // Only an area has an inside.
    const isOpened = "keep" in row && row.keep === "inside" && next.at !== "ring";
    return putRow(rows, id, { ...row, place: next, ...(isOpened ? { keep: null } : {}) });
  };
  const text = textOfPlace(place, units.value);
  return html`${longBox({ id: `places-${id}`, label: say("bounds.places"), value: text, rows: Math.min(6, text.split("\n").length + 1), set: (typed) => put(typed, place.at === "ring") })}
  ${mayClose && pointsThrough(place).length > 2
    ? tickBox({ id: `closed-${id}`, label: say("plan.box.closed"), value: place.at === "ring", set: (closed) => void put(text, closed) })
    : nothing}`;
}

function showButton(place: Place): Template {
  const points = pointsThrough(place);
  if (points.length === 0) return nothing;
  const show = (): void => {
    lit.value = points;
    if (narrow.value) closeLeaves();
  };
  return html`<button type="button" @click=${show}>${say("check.show")}</button>`;
}

/** What was found of a row. */
function findingsOf(session: Session, path: string): readonly Numbered[] {
  return numbered(session.checks.value).filter(({ finding }) => finding.where.paths.some((one) => one === path || one.startsWith(`${path}.`)));
}

function worst(found: readonly Numbered[]): Template {
  const [first] = found;
  return first ? gradeMark(first.finding.grade) : nothing;
}

function findingButtons(found: readonly Numbered[]): Template {
  return html`${found.map(
    ({ finding, key }) => html`<button type="button" class="check" data-code=${finding.code} @click=${() => openNext({ kind: "check", key })}>
      ${gradeMark(finding.grade)}<span class="says">${said(finding.says)}</span>
    </button>`,
  )}`;
}
