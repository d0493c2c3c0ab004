/** The field book on a phone: the next reading in big boxes on top, then a card for each reading. */

import { html, nothing } from "lit";
import type { Book } from "../api/survey";
import type { Job } from "../api/types";
import { NotRead, format, parse } from "../format/units";
import { say } from "../format/words";
import { attempt } from "../state/changes";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { wordSwitch } from "./boxes";
import { type BookLine, type Role, type Worked, bookStyle, foreRole, headingOf, linesOf, linesOps, pointId, pointsOf, shownOf } from "./book-sheet";
import type { Template } from "./view";

interface Next {
  readonly point: string;
  readonly rod: string;
  readonly distance: string;
  readonly role: "back" | "side" | "fore" | null;
  readonly fault: string;
}

const NOTHING: Next = { point: "", rod: "", distance: "", role: null, fault: "" };

/** What is being typed, by book; it outlives the screen. */
const drafts: Signal<Readonly<Record<string, Next>>> = signal({});

export function bookCards(session: Session, job: Job, id: string, book: Book, worked: readonly Worked[]): Template {
  const lines = linesOf(book);
  return html`${nextReading(session, job, id, book, lines)}
    <ol class="cards-of-book" data-testid="book-cards">
      ${lines.map((line, at) => card(session, job, id, book, lines, line, at, worked[at])).toReversed()}
    </ol>`;
}

/** What a reading most likely is: the first of a set-up is a backsight. */
function likely(lines: readonly BookLine[]): NonNullable<Next["role"]> {
  const last = lines.at(-1);
  return last === undefined || last.role === "turn" || last.role === "check" ? "back" : "side";
}

/** Point that most likely comes next: after a turning point the level is read back on it. */
function likelyPoint(lines: readonly BookLine[]): string {
  const last = lines.at(-1);
  return last?.role === "turn" ? last.point : "";
}

function nextReading(session: Session, job: Job, id: string, book: Book, lines: readonly BookLine[]): Template {
  const next = drafts.value[id] ?? NOTHING;
  const role = next.role ?? likely(lines);
  const point = next.point || likelyPoint(lines);
  const change = (more: Partial<Next>): void => {
    drafts.value = { ...drafts.value, [id]: { ...next, fault: "", ...more } };
  };
  const keep = (): void => {
    const name = pointId(point, pointsOf(job, lines));
    if (name === "") return change({ fault: say("book.needsPoint") });
    try {
      const rod = lengthOf(book, next.rod);
      const distance = next.distance.trim() === "" ? null : lengthOf(book, next.distance);
      const made: Role = role === "fore" ? foreRole(name, lines, job.site.marks ?? {}) : role;
      const line: BookLine = { setUp: null, role: made, point: name, rod, distance };
      if (!attempt(session, say("book.addLine", { point: name }), linesOps(job, id, book, [...lines, line]))) return;
      drafts.value = { ...drafts.value, [id]: NOTHING };
      queueMicrotask(() => document.querySelector<HTMLElement>("#next-point")?.focus());
    } catch (fault) {
      if (!(fault instanceof NotRead)) throw fault;
      change({ fault: fault.message });
    }
  };
  const typed = (event: Event): string => (event.target as HTMLInputElement).value;
  return html`<form class="next-reading" data-testid="next-reading" @submit=${(event: Event) => { event.preventDefault(); keep(); }}>
    ${wordSwitch({ id: "next-role", label: say("book.next.role"), value: role, of: [["back", say("book.role.back")], ["side", say("book.role.side")], ["fore", say("book.role.fore")]], set: (value) => change({ role: value }) })}
    <div class="big">
      <label for="next-point">${say("book.next.point")}</label>
      <input id="next-point" data-testid="next-point" type="text" autocomplete="off" autocapitalize="off" spellcheck="false" list="next-points" .value=${point} @input=${(event: Event) => change({ point: typed(event) })} @keydown=${onToReading} />
      <datalist id="next-points">${[...Object.keys(job.site.marks ?? {}), ...Object.keys(job.site.shots ?? {})].map((name) => html`<option value=${name}></option>`)}</datalist>
    </div>
    <div class="big">
      <label for="next-rod">${say("book.next.rod")}</label>
      <input id="next-rod" data-testid="next-rod" type="text" inputmode=${book.unit === "ft_in" || book.reads === "up" ? "text" : "decimal"} autocomplete="off" .value=${next.rod} aria-invalid=${next.fault ? "true" : "false"} aria-describedby=${next.fault ? "next-fault" : nothing} @input=${(event: Event) => change({ rod: typed(event) })} />
    </div>
    <div class="big small">
      <label for="next-distance">${say("book.next.distance")}</label>
      <input id="next-distance" data-testid="next-distance" type="text" inputmode="decimal" autocomplete="off" .value=${next.distance} @input=${(event: Event) => change({ distance: typed(event) })} />
    </div>
    ${next.fault ? html`<p class="fault" id="next-fault" role="alert">${next.fault}</p>` : nothing}
    <button type="submit" class="primary" data-testid="next-keep">${say("book.next.keep")}</button>
  </form>`;
}

/** Enter goes from the point on to its reading. */
function onToReading(event: KeyboardEvent): void {
  if (event.key !== "Enter") return;
  event.preventDefault();
  document.querySelector<HTMLElement>("#next-rod")?.focus();
}

/** Length typed at a box of the book: a bare number is in the book's unit. */
function lengthOf(book: Book, text: string): number {
  return parse(text, "length", shownOf(book)).value;
}

function card(session: Session, job: Job, id: string, book: Book, lines: readonly BookLine[], line: BookLine, at: number, comes: Worked | undefined): Template {
  const told = (value: number | undefined, kind: "elevation" | "length"): string => (value === undefined || Number.isNaN(value) ? "–" : format(value, kind, shownOf(book), bookStyle(book)));
  const begins = at === 0 || lines[at - 1]?.setUp !== line.setUp;
  const shot = job.site.shots?.[line.point];
  return html`<li class="card-of-book">
    ${begins ? html`<p class="quiet">${headingOf(book, line.setUp ?? 0)}</p>` : nothing}
    <div class="row">
      <h3>${say("book.rodOn", { point: shot?.name || line.point })}</h3>
      <button type="button" class="plain" aria-label="${say("app.remove")} ${line.point}" @click=${() => attempt(session, say("table.removeLabel", { id: line.point }), linesOps(job, id, book, lines.filter((_, other) => other !== at)))}>${say("app.remove")}</button>
    </div>
    <dl class="lines">
      <div class="line"><dt>${say(`book.role.${line.role}`)}</dt><dd>${told(line.rod, "length")}</dd></div>
      ${line.role === "back" ? html`<div class="line"><dt>${say("book.column.instrument")}</dt><dd>${told(comes?.instrument, "elevation")}</dd></div>` : nothing}
      <div class="line"><dt>${say("book.column.adjusted")}</dt><dd><b>${told(comes?.adjusted, "elevation")}</b></dd></div>
    </dl>
  </li>`;
}
