/** Where the rod stood: by coordinates, on a grid, along a base line, by bearing, or by tapes; one shot after the other. */

import { html, nothing } from "lit";
import type { Job, Shot } from "../api/types";
import { shown } from "../format/shown";
import { type Word, said, say } from "../format/words";
import { attempt, newId, nextIds } from "../state/changes";
import { notice } from "../state/desk";
import { type Json, type Op, pointer } from "../state/ops";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { ofSurvey } from "../state/survey-in-hand";
import { tool } from "../state/tool";
import { throughShots } from "../plan/gestures/draw-lines";
import { choiceBox, numberBox, textBox, wordSwitch } from "./boxes";
import { adviceLine, gradeMark } from "./checks";
import { marksPart, placedMarks } from "./marks";
import { type Dispose, type Template, mountView } from "./view";

export const WAYS = ["tapes", "offset", "grid", "bearing", "coordinates"] as const;
export type Way = (typeof WAYS)[number];

/** What is typed for a shot. */
export interface Located {
  readonly way: Way;
  /** Shot that gets a place; empty makes a new one. */
  readonly shot: string;
  readonly marks: readonly [string, string, string];
  /** By name of the box. */
  readonly numbers: Readonly<Record<string, number | null>>;
  readonly side: "left" | "right";
  readonly elevation: number | null;
  readonly code: string;
}

const EMPTY: Located = { way: "tapes", shot: "", marks: ["", "", ""], numbers: {}, side: "left", elevation: null, code: "" };

/** What is being typed, and the shot that was placed last, by job; both outlive the page. */
const drafts: Signal<Readonly<Record<string, Located>>> = signal({});
const placed: Signal<Readonly<Record<string, string>>> = signal({});
const painted: Signal<string> = signal("");

/** How many shots have no place yet. */
export function locatingSays(_session: Session, job: Job): string {
  const count = withoutPlace(job).length;
  return count === 0 ? say("locate.short") : say("locate.without", { count });
}

export function mountLocating(host: HTMLElement, session: Session): Dispose {
  session.want("places", true, "locating");
  const stop = mountView(host, () => {
    const job = session.shown.value;
    if (job === null) return nothing;
    return html`${locateForm(session, job)} ${lastPlaced(session, job)} ${paintPart(session, job)} ${marksPart(session, job)}`;
  });
  return () => {
    session.want("places", false, "locating");
    stop();
  };
}

/** Shots that have a level and no place. */
export function withoutPlace(job: Job): readonly string[] {
  return Object.entries(job.site.shots ?? {}).filter(([, { place }]) => place.by === "book").map(([id]) => id);
}

function locateForm(session: Session, job: Job): Template {
  const draft = drafts.value[session.id] ?? EMPTY;
  const marks = placedMarks(job);
  const change = (more: Partial<Located>): void => {
    drafts.value = { ...drafts.value, [session.id]: { ...draft, ...more } };
  };
  const waiting = withoutPlace(job);
  const [fresh = "s1"] = nextIds("s", job.site.shots ?? {}, 1);
  const keep = (): void => {
    const filled = withMarks(draft, marks.map(([id]) => id));
    const place = placeOf(filled);
    if (typeof place === "string") return void (notice.value = place);
    const id = draft.shot && draft.shot in (job.site.shots ?? {}) ? draft.shot : fresh;
    if (!attempt(session, say("locate.label", { id }), locateOps(job, id, place, draft))) return;
    placed.value = { ...placed.value, [session.id]: id };
    const left = waiting.filter((one) => one !== id);
    change({ shot: left[0] ?? "", numbers: kept(draft), elevation: null });
    notice.value = say("locate.done", { id });
  };
  const needs = { tapes: 2, offset: 2, grid: 2, bearing: 1, coordinates: 0 }[draft.way];
  return html`<form class="locate" data-testid="locate" @submit=${(event: Event) => event.preventDefault()}>
    ${choiceBox({ id: "locate-shot", label: say("locate.shot"), value: draft.shot in (job.site.shots ?? {}) ? draft.shot : "", of: [["", say("locate.new", { id: fresh })], ...waiting.map((id) => [id, id] as const)], set: (shot) => change({ shot }) })}
    ${wordSwitch<Way>({ id: "locate-way", label: say("locate.way"), value: draft.way, of: WAYS.map((way) => [way, say(`locate.way.${way}`)] as const), set: (way) => change({ way }) })}
    ${marks.length < needs ? html`<p class="fault">${say("locate.needsMarks", { count: needs })}</p>` : boxesOf(draft, marks, change)}
    ${draft.shot === ""
      ? html`<div class="row">
          ${numberBox({ id: "locate-elevation", label: say("locate.elevation"), kind: "elevation", value: draft.elevation, waterLine: session.waterLine.value, set: (elevation) => (change({ elevation }), true) })}
          ${textBox({ id: "locate-code", label: say("plan.box.code"), value: draft.code, set: (code) => (change({ code }), true) })}
        </div>`
      : nothing}
    <button type="button" class="primary" data-testid="locate-keep" @click=${keep}>${say("locate.keep")}</button>
  </form>`;
}

type Change = (more: Partial<Located>) => void;
type Marks = readonly (readonly [string, string])[];

function boxesOf(draft: Located, marks: Marks, change: Change): Template {
  const number = (name: string, kind: "length" | "angle" | "ratio" = "length"): Template =>
    numberBox({ id: `locate-${name}`, label: say(`locate.${name}` as Word), kind, value: draft.numbers[name] ?? null, set: (value) => (change({ numbers: { ...draft.numbers, [name]: value } }), true) });
  const mark = (at: 0 | 1 | 2, label: Word, mayBeNone = false): Template =>
    choiceBox({
      id: `locate-mark-${at}`, label: say(label), value: draft.marks[at] || (mayBeNone ? "" : (marks[at]?.[0] ?? "")),
      of: [...(mayBeNone ? [["", say("locate.noThird")] as const] : []), ...marks],
      set: (id) => change({ marks: draft.marks.with(at, id) as unknown as Located["marks"] }),
    });
  const side = wordSwitch<"left" | "right">({ id: "locate-side", label: say("locate.side"), value: draft.side, of: [["left", say("locate.left")], ["right", say("locate.right")]], set: (value) => change({ side: value }) });
  switch (draft.way) {
    case "coordinates":
      return html`<div class="row">${number("east")} ${number("north")}</div>`;
    case "bearing":
      return html`${mark(0, "locate.from")}<div class="row">${number("bearing", "angle")} ${number("distance")}</div>`;
    case "offset":
      return html`<div class="row">${mark(0, "locate.base")} ${mark(1, "locate.toward")}</div><div class="row">${number("along")} ${number("off")}</div>${side}`;
    case "grid":
      return html`<div class="row">${mark(0, "locate.base")} ${mark(1, "locate.toward")}</div>${number("spacing")}<div class="row">${number("steps", "ratio")} ${number("stepsOff", "ratio")}</div>${side}`;
    case "tapes":
      return html`<div class="row">${mark(0, "locate.tape")} ${number("tape0")}</div>
        <div class="row">${mark(1, "locate.tape")} ${number("tape1")}</div>
        ${marks.length > 2 ? html`<div class="row">${mark(2, "locate.third", true)} ${draft.marks[2] ? number("tape2") : nothing}</div>` : nothing}
        ${side}`;
  }
}

/** What was typed, with the marks that the boxes show where nobody chose one. */
function withMarks(draft: Located, ids: readonly string[]): Located {
  return { ...draft, marks: [draft.marks[0] || (ids[0] ?? ""), draft.marks[1] || (ids[1] ?? ""), draft.marks[2]] };
}

/** Numbers that hold for the next shot too: the grid's spacing. */
function kept({ numbers }: Located): Located["numbers"] {
  return numbers["spacing"] == null ? {} : { spacing: numbers["spacing"] };
}

/** Place that the boxes tell, or what they lack, in one sentence. */
export function placeOf({ way, marks, numbers, side }: Located): Shot["place"] | string {
  const [first, second, third] = marks;
  const number = (name: string): number | null => numbers[name] ?? null;
  const sign = side === "left" ? 1 : -1;
  const lacks = (...names: readonly string[]): string => {
    const missing = names.find((name) => number(name) === null);
    return missing === undefined ? "" : say("locate.missing", { what: say(`locate.${missing}` as Word) });
  };
  const told = (fault: string, place: () => Json): Shot["place"] | string => fault || (place() as unknown as Shot["place"]);
  const two = first === second ? say("locate.twoMarks") : "";
  switch (way) {
    case "coordinates":
      return told(lacks("east", "north"), () => ({ by: "coordinates", east: number("east"), north: number("north") }));
    case "bearing":
      return told(lacks("bearing", "distance"), () => ({ by: "bearing", from_mark: first, bearing: number("bearing"), distance: number("distance") }));
    case "offset":
      return told(two || lacks("along", "off"), () => ({ by: "offset", base: [first, second], along: number("along"), off: sign * (number("off") ?? 0) }));
    case "grid":
      return told(two || lacks("spacing", "steps", "stepsOff"), () => ({ by: "grid", base: [first, second], spacing: number("spacing"), along: number("steps"), off: sign * (number("stepsOff") ?? 0) }));
    case "tapes": {
      const same = two || (third && (third === first || third === second) ? say("locate.twoMarks") : "");
      const tapes = [first, second, ...(third ? [third] : [])].map((mark, at) => ({ mark, distance: number(`tape${at}`) }));
      return told(same || lacks(...tapes.map((_, at) => `tape${at}`)), () => ({ by: "tapes", tapes, side }));
    }
  }
}

/** Operations that put a place on a shot, or a new shot at a place. */
export function locateOps(job: Job, id: string, place: Shot["place"], { elevation, code }: Pick<Located, "elevation" | "code">): Op[] {
  const value = place as unknown as Json;
  if (id in (job.site.shots ?? {})) return [{ op: "replace", path: pointer("site", "shots", id, "place"), value }];
  return [{ op: "add", path: pointer("site", "shots", id), value: { place: value, ...(elevation === null ? {} : { elevation }), ...(code ? { code } : {}), ...ofSurvey(job) } }];
}

/** Where the last shot came to lie, and what its check says: for two tapes, the other answer too. */
function lastPlaced(session: Session, job: Job): Template {
  const id = placed.value[session.id];
  if (id === undefined || !(id in (job.site.shots ?? {}))) return nothing;
  const path = `site.shots.${id}`;
  const own = session.checks.value.filter(({ where }) => where.paths.some((one) => one === path || one.startsWith(`${path}.`)));
  const point = placeShown(session, id);
  return html`<section class="last-placed" data-testid="last-placed">
    <h3>${say("locate.last", { id })}</h3>
    ${point ? html`<p>${say("locate.at", { east: shown(point[0], "length"), north: shown(point[1], "length") })}</p>` : nothing}
    ${own.map((one) => html`<div class="check-line">${gradeMark(one.grade)} ${said(one.says)}
      ${one.advice.length > 0 ? html`<ul class="advice">${one.advice.map((advice) => html`<li>${adviceLine(session, advice)}</li>`)}</ul>` : nothing}</div>`)}
  </section>`;
}

/** Place of a shot that the server worked out; null while it has not told. */
function placeShown(session: Session, id: string): readonly [number, number] | null {
  const field = session.frame.value?.fields["places"];
  const at = field?.head.ids?.indexOf(id) ?? -1;
  return field === undefined || at < 0 ? null : [field.data[3 * at] as number, field.data[3 * at + 1] as number];
}

// A shoreline painted on the grass.

/** Shots that a text names in order: `s12-s20, s22` or `12 to 20, 22`; a string is what is wrong with it. */
export function shotsNamed(text: string, shots: readonly string[]): readonly string[] | string {
  const found: string[] = [];
  const parts = text.replaceAll(/\s*(?:-|–|\.\.|\bto\b)\s*/gi, "-").split(/[,;\s]+/).filter(Boolean);
  for (const part of parts) {
    const range = /^([a-z_]*)(\d+)-([a-z_]*)(\d+)$/i.exec(part);
    const names = range ? counted(range[1] as string, Number(range[2]), Number(range[4])) : [part];
    for (const name of names) {
      const id = [name, name.toLowerCase(), `s${name}`, `p${name}`].find((one) => shots.includes(one));
      if (id === undefined) return say("paint.noShot", { name });
      found.push(id);
    }
  }
  return found.length < 3 ? say("paint.few") : found;
}

function counted(letters: string, from: number, to: number): string[] {
  const step = to < from ? -1 : 1;
  return Array.from({ length: Math.abs(to - from) + 1 }, (_, at) => `${letters}${from + at * step}`);
}

function paintPart(session: Session, job: Job): Template {
  const lines = Object.entries(job.site.lines ?? {}).filter(([, line]) => line.kind === "paint");
  const add = (): void => {
    const shots = shotsNamed(painted.value, Object.keys(job.site.shots ?? {}));
    if (typeof shots === "string") return void (notice.value = shots);
    const id = newId("paint", job.site.lines ?? {});
    if (attempt(session, say("paint.label"), [{ op: "add", path: pointer("site", "lines", id), value: { kind: "paint", shots } }])) painted.value = "";
  };
  const press = (): void => {
    throughShots.value = "paint";
    tool.value = "breakline";
  };
  return html`<h3>${say("paint.title")}</h3>
    <p class="quiet">${say("paint.says")}</p>
    ${lines.map(([id, line]) => paintedLine(session, id, line.name || id, line.shots?.length ?? 0))}
    ${textBox({ id: "paint-shots", label: say("paint.shots"), value: painted.value, otherwise: say("paint.sample"), set: (text) => ((painted.value = text), true) })}
    <p class="row">
      <button type="button" data-testid="paint-add" @click=${add}>${say("paint.add")}</button>
      <button type="button" @click=${press}>${say("paint.press")}</button>
    </p>`;
}

function paintedLine(session: Session, id: string, name: string, count: number): Template {
  const path = `site.lines.${id}`;
  const own = session.checks.value.filter(({ where }) => where.paths.some((one) => one === path || one.startsWith(`${path}.`)));
  return html`<div class="painted" data-testid="painted-${id}">
    <p><b>${name}</b> ${say("paint.count", { count })}
      <button type="button" class="plain" @click=${() => attempt(session, say("app.remove"), [{ op: "remove", path: pointer("site", "lines", id) }])}>${say("app.remove")}</button></p>
    ${own.map((one) => html`<div class="check-line">${gradeMark(one.grade)} ${said(one.says)}
      <ul class="advice">${one.advice.map((advice) => html`<li>${adviceLine(session, advice)}</li>`)}</ul></div>`)}
  </div>`;
}
