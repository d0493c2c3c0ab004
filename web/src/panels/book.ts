/** The field book: a page of level notes as it is read, with what each line comes to. */

import { html, nothing } from "lit";
import { type BookPreview, type PageRow, fieldOf, previewBook, sentenceOf } from "../api/survey-rest";
import type { Book, TwoPegTest } from "../api/survey";
import type { Finding, Job } from "../api/types";
import { format } from "../format/units";
import { type Word, said, say } from "../format/words";
import { attempt, newId, setOps } from "../state/changes";
import { notice } from "../state/desk";
import { narrow } from "../state/narrow";
import { type Json, type Op, pointer } from "../state/ops";
import type { Session } from "../state/session";
import { units } from "../state/settings";
import { type Signal, computed, effect, signal } from "../state/signal";
import { choiceBox, dayBox, numberBox, textBox, wordSwitch } from "./boxes";
import { bookCards } from "./book-cards";
import { type Worked, bookSheet, bookStyle, linesOf, newBook, pointId, shownOf } from "./book-sheet";
import { mountGrid } from "./grid";
import { type Dispose, type Template, mountView } from "./view";

const ASKS = "book_lines";
const MOST_SHOWN = 300;
/** Known heights may be told before there is a book. */
const NO_BOOK: Book = {};
const EMPTY_TEST: Partial<TwoPegTest> = {};

/** Which book is open; it outlives the screen. */
const wanted: Signal<string> = signal("");
/** The two-peg test while not all its readings are there, by book. */
const halfTest: Signal<Readonly<Record<string, Partial<TwoPegTest>>>> = signal({});

interface Open {
  readonly session: Session;
  readonly job: Job;
  readonly id: string;
  readonly book: Book;
}

export function mountBook(host: HTMLElement, session: Session): Dispose {
  session.want(ASKS, true, ASKS);
  host.innerHTML = `<div data-part="head"></div><div data-part="lines"></div><div data-part="end"></div>`;
  const part = (name: string): HTMLElement => host.querySelector<HTMLElement>(`[data-part="${name}"]`) as HTMLElement;
  const page = new Page(session);
  const open = (): Open | null => openBook(session);
  const stopHead = mountView(part("head"), () => head(session, open()));
  const stopEnd = mountView(part("end"), () => {
    const now = open();
    return now === null ? nothing : html`${closing(now)} ${knownHeights(now)} ${twoPeg(now)} ${page.template(now)}`;
  });
  let stopLines: Dispose = () => {};
  const isNarrow = computed(() => narrow.value);
  const stopSwitch = effect(() => {
    const phone = isNarrow.value;
    stopLines();
    stopLines = phone ? mountCards(part("lines"), session, open) : mountLines(part("lines"), session, open);
  });
  return () => {
    session.want(ASKS, false, ASKS);
    stopSwitch();
    stopLines();
    stopEnd();
    stopHead();
    host.replaceChildren();
  };
}

function openBook(session: Session): Open | null {
  const job = session.shown.value;
  const books = job?.site.books ?? {};
  const id = wanted.value in books ? wanted.value : Object.keys(books)[0];
  return job === null || id === undefined ? null : { session, job, id, book: books[id] as Book };
}

/** What each line of a book comes to, as far as the server has told. */
export function workedOf(session: Session, id: string): readonly Worked[] {
  const field = fieldOf(session.frame.value, ASKS, id);
  if (field === undefined) return [];
  const [count = 0, width = 4] = field.shape;
  return Array.from({ length: count }, (_, at) => {
    const [instrument, elevation, correction, adjusted] = Array.from(field.data.subarray(at * width, at * width + 4)) as [number, number, number, number];
    return { instrument, elevation, correction, adjusted };
  });
}

function mountLines(host: HTMLElement, session: Session, open: () => Open | null): Dispose {
  return mountGrid(host, session, {
    name: say("book.title"),
    hint: say("book.hint"),
    sheet: () => {
      const now = open();
      return now === null ? null : bookSheet(now.job, now.id, workedOf(session, now.id));
    },
    shown: () => {
      const now = open();
      return now === null ? units.value : shownOf(now.book);
    },
    foot: (columns) => {
      const now = open();
      return now === null ? nothing : sums(now, columns);
    },
    chosen: (row) => {
      const now = open();
      const point = now === null ? undefined : linesOf(now.book)[Number(row) - 1]?.point;
      if (now !== null && point !== undefined && point in (now.job.site.shots ?? {})) session.selection.value = { kind: "shot", id: point };
    },
  });
}

function mountCards(host: HTMLElement, session: Session, open: () => Open | null): Dispose {
  return mountView(host, () => {
    const now = open();
    return now === null ? nothing : bookCards(session, now.job, now.id, now.book, workedOf(session, now.id));
  });
}

// What stands at the head of a book.

function head(session: Session, now: Open | null): Template {
  const begin = (): void => {
    const books = session.job.value?.site.books ?? {};
    const id = newId("book", books);
    if (attempt(session, say("book.new"), [{ op: "add", path: pointer("site", "books", id), value: newBook(units.value) }])) wanted.value = id;
  };
  const adds = html`<button type="button" data-testid="book-new" @click=${begin}>${say("book.new")}</button>`;
  if (now === null) return html`<p>${say("book.none")}</p><p>${adds}</p>${session.shown.value === null ? nothing : knownHeights({ session, job: session.shown.value, id: "", book: NO_BOOK })}`;
  const { job, id, book } = now;
  const books = Object.entries(job.site.books ?? {});
  const set = (label: Word, key: string) => (value: Json): boolean => attempt(session, say(label), setOps(job, ["site", "books", id, key], value));
  const about = html`<div class="row book-head">
      ${books.length > 1
        ? choiceBox({ id: "book-which", label: say("book.which"), value: id, of: books.map(([name, one]) => [name, one.name || name] as const), set: (name) => (wanted.value = name) })
        : nothing}
      ${textBox({ id: "book-name", label: say("book.name"), value: book.name ?? "", otherwise: id, set: set("book.name", "name") })}
      ${dayBox({ id: "book-date", label: say("book.date"), value: book.date ?? null, set: set("book.date", "date") })}
      ${textBox({ id: "book-instrument", label: say("book.instrument"), value: book.instrument ?? "", set: set("book.instrument", "instrument") })}
      ${adds}
      <button type="button" @click=${() => attempt(session, say("app.remove"), [{ op: "remove", path: pointer("site", "books", id) }])}>${say("book.remove")}</button>
    </div>
    <div class="row book-head">
      ${wordSwitch({ id: "book-unit", label: say("book.unit"), value: book.unit ?? "m", of: [["ft", say("book.unit.ft")], ["ft_in", say("book.unit.ft_in")], ["m", say("book.unit.m")]], set: set("book.unit", "unit") })}
      ${wordSwitch({ id: "book-reads", label: say("book.reads"), value: book.reads ?? "down", of: [["down", say("book.reads.down")], ["up", say("book.reads.up")]], set: set("book.reads", "reads") })}
      ${wordSwitch({ id: "book-adjust", label: say("book.adjust"), value: book.adjust ?? "set_ups", of: [["set_ups", say("book.adjust.set_ups")], ["distance", say("book.adjust.distance")]], set: set("book.adjust", "adjust") })}
    </div>
    <p class="quiet">${say(`book.reads.${book.reads ?? "down"}.says`)}</p>
    <details class="fold">
      <summary>${say("book.stations")}</summary>
      <div class="row">
        ${(book.set_ups ?? []).map((setUp, at) =>
          textBox({
            id: `book-station-${at}`, label: say("book.setUp", { number: at + 1 }), value: setUp.station,
            set: (station) => set("book.stations", "set_ups")((book.set_ups ?? []).map((one, other) => (other === at ? { ...one, station } : one)) as unknown as Json),
          }),
        )}
      </div>
    </details>`;
  // On a phone the next reading comes first.
  return narrow.value ? html`<details class="fold"><summary>${say("book.about")}: ${book.name || id}</summary>${about}</details>` : about;
}

// What stands at its foot.

function sums({ session, id, book }: Open, columns: number): Template {
  const figures = session.figures.value;
  const own = (name: string): number | undefined => figures[`site.levels.books.${id}.${name}`];
  const [back, fore] = [own("sum_back"), own("sum_fore")];
  if (back === undefined || fore === undefined || (book.set_ups ?? []).length === 0) return nothing;
  const told = (value: number): string => format(value, "length", shownOf(book), bookStyle(book));
  const rise = book.reads === "up" ? fore - back : back - fore;
  const says = say("book.sums", { back: told(back), fore: told(fore), rise: told(rise) });
  return html`<tfoot><tr><td colspan=${columns} data-testid="book-sums">${says}</td></tr></tfoot>`;
}

/** Checks that are about a book. */
export function checksOf(checks: readonly Finding[], id: string): readonly Finding[] {
  return checks.filter(({ where }) => where.paths.some((path) => path === `site.books.${id}` || path.startsWith(`site.books.${id}.`)));
}

/** How well the book closes, in words; the grade is that of the server's check. */
function closing({ session, id, book }: Open): Template {
  const own = checksOf(session.checks.value, id);
  const rank = { stop: 0, look: 1, good: 2 } as const;
  const worst = own.filter(({ code }) => code === "site.misclosure").toSorted((one, other) => rank[one.grade] - rank[other.grade])[0];
  const told = (value: number | null): string => format(value ?? Number.NaN, "length", shownOf(book), bookStyle(book));
  const rest = own.filter(({ code, grade }) => code !== "site.two_peg" && grade !== "good");
  return html`<div class="closing" data-testid="book-closing" aria-live="polite">
      ${worst
        ? html`<p class="lead"><b class=${worst.grade}>${say(`grade.${worst.grade}`)}</b> ${say(`book.closes.${worst.grade}`, { value: told(worst.value), limit: told(worst.limit) })}</p>`
        : (book.set_ups ?? []).length > 0 ? html`<p class="quiet">${say("book.closes.not")}</p>` : nothing}
      ${rest.length > 0 ? html`<ul class="book-checks">${rest.map((one) => html`<li><b class=${one.grade}>${say(`grade.${one.grade}`)}</b> ${said(one.says)}</li>`)}</ul>` : nothing}
    </div>`;
}

/** Heights that the book starts from; a point that it starts from and nobody knows stands first. */
function knownHeights({ session, job, book }: Open): Template {
  const marks = job.site.marks ?? {};
  const read = new Set<string>();
  const unknown = new Set<string>();
  for (const { role, point } of linesOf(book)) {
    if (role !== "back") read.add(point);
    else if (!read.has(point) && (marks[point]?.elevation ?? null) === null && (job.site.shots?.[point]?.elevation ?? null) === null) unknown.add(point);
  }
  const set = (point: string) => (elevation: number | null): boolean => {
    if (point in marks) return attempt(session, say("book.heightOf", { point }), setOps(job, ["site", "marks", point, "elevation"], elevation));
    return elevation === null || attempt(session, say("book.heightOf", { point }), [{ op: "add", path: pointer("site", "marks", point), value: { elevation } }]);
  };
  const names = [...new Set([...unknown, ...Object.keys(marks)])];
  const isFirst = linesOf(book).length === 0;
  return html`<details class="fold" data-testid="known-heights" ?open=${unknown.size > 0 || isFirst}>
    <summary>${say("book.known", { count: Object.keys(marks).length })}</summary>
    <p class="quiet">${say(names.length === 0 ? "book.noKnown" : "book.knownSays")}</p>
    <div class="row">
      ${names.map((point) => numberBox({
        id: `mark-${point}`, label: say("book.heightOf", { point: marks[point]?.name || point }), kind: "elevation", value: marks[point]?.elevation ?? null,
        note: unknown.has(point) ? say("book.notKnown") : "", set: set(point),
      }))}
    </div>
    ${newBenchmark(session, job)}
  </details>`;
}

/** A benchmark in the making: it is kept when it has a name and a height. */
const benchmark: Signal<{ readonly name: string; readonly elevation: number | null }> = signal({ name: "", elevation: null });

function newBenchmark(session: Session, job: Job): Template {
  const { name, elevation } = benchmark.value;
  const keep = (): void => {
    const marks = job.site.marks ?? {};
    const id = pointId(name, Object.keys(marks));
    if (id === "" || elevation === null) return void (notice.value = say("book.newKnownNeeds"));
    if (id in marks) return void (notice.value = say("marks.known", { name }));
    const value = { ...(id === name ? {} : { name: name.trim() }), elevation };
    if (attempt(session, say("book.heightOf", { point: name }), [{ op: "add", path: pointer("site", "marks", id), value }])) benchmark.value = { name: "", elevation: null };
  };
  return html`<div class="row adding">
    ${textBox({ id: "known-name", label: say("book.newKnown"), value: name, otherwise: "BM 1", set: (text) => ((benchmark.value = { ...benchmark.value, name: text }), true) })}
    ${numberBox({ id: "known-elevation", label: say("book.newKnownHeight"), kind: "elevation", value: elevation, set: (value) => ((benchmark.value = { ...benchmark.value, elevation: value }), true) })}
    <button type="button" data-testid="known-add" @click=${keep}>${say("book.newKnownAdd")}</button>
  </div>`;
}

const TEST = ["middle_a", "middle_b", "near_a", "near_b"] as const;

function twoPeg({ session, job, id, book }: Open): Template {
  const held = { ...(book.two_peg ?? EMPTY_TEST), ...(halfTest.value[id] ?? EMPTY_TEST) };
  const keep = (key: keyof TwoPegTest, value: number | null): boolean => {
    const next: Partial<Record<keyof TwoPegTest, number | null>> = { ...held, [key]: value };
    const whole = [...TEST, "sight_difference" as const].every((name) => typeof next[name] === "number");
    halfTest.value = { ...halfTest.value, [id]: whole ? EMPTY_TEST : (next as Partial<TwoPegTest>) };
    return !whole || attempt(session, say("book.twoPeg"), setOps(job, ["site", "books", id, "two_peg"], next as unknown as Json));
  };
  const found = checksOf(session.checks.value, id).filter(({ code }) => code === "site.two_peg");
  // The document holds the sight to A less that to B; near A that is a minus, which nobody would type.
  const farther = held.sight_difference == null ? null : -held.sight_difference;
  return html`<details class="fold">
    <summary>${say("book.twoPeg")}</summary>
    <p class="quiet">${say("book.twoPegSays")}</p>
    <div class="row">
      ${TEST.map((key) => numberBox({ id: `two-peg-${key}`, label: say(`book.twoPeg.${key}`), kind: "length", value: held[key] ?? null, set: (value) => keep(key, value) }))}
      ${numberBox({ id: "two-peg-farther", label: say("book.twoPeg.farther"), kind: "length", value: farther, set: (value) => keep("sight_difference", value === null ? null : -value) })}
    </div>
    ${found.map((one) => html`<p data-testid="two-peg-found"><b class=${one.grade}>${say(`grade.${one.grade}`)}</b> ${said(one.says)}</p>`)}
    ${book.two_peg ? html`<button type="button" @click=${() => attempt(session, say("book.twoPeg"), setOps(job, ["site", "books", id, "two_peg"], null))}>${say("app.remove")}</button>` : nothing}
  </details>`;
}

// A page that is pasted.

class Page {
  private readonly text = signal("");
  private readonly found: Signal<BookPreview | null> = signal<BookPreview | null>(null);
  private readonly fault = signal("");
  private newest = 0;

  constructor(private readonly session: Session) {}

  template(now: Open): Template {
    const found = this.found.value;
    return html`<details class="fold" data-testid="book-page">
      <summary>${say("book.paste")}</summary>
      <label for="book-text">${say("book.pasteSays")}</label>
      <textarea id="book-text" data-testid="book-text" rows="6" spellcheck="false" .value=${this.text.value} placeholder=${say("book.pasteSample")}
        @input=${(event: Event) => this.look((event.target as HTMLTextAreaElement).value, now)}></textarea>
      ${this.fault.value ? html`<p class="fault" role="alert">${this.fault.value}</p>` : nothing}
      ${found ? this.preview(now, found) : nothing}
    </details>`;
  }

  private look(text: string, { book, job }: Open): void {
    this.text.value = text;
    this.newest += 1;
    const mine = this.newest;
    this.found.value = null;
    this.fault.value = "";
    if (text.trim() === "") return;
    const around = { shown_units: shownOf(book), reads: book.reads ?? "down", marks: Object.keys(job.site.marks ?? {}), shots: Object.keys(job.site.shots ?? {}) } as const;
    previewBook(text, around).then(
      (found) => {
        if (mine !== this.newest) return;
        this.found.value = found.fault ? null : found;
        this.fault.value = said(found.fault);
      },
      (why: unknown) => {
        if (mine === this.newest) this.fault.value = sentenceOf(why);
      },
    );
  }

  private preview(now: Open, found: BookPreview): Template {
    const bad = found.rows.filter(({ errors }) => Object.keys(errors).length > 0).length;
    const count = linesOf(found.book).length;
    return html`<p>${said(found.says)}</p>
      <div class="wide">
        <table class="plain preview">
          <thead><tr><th scope="col">${say("start.row")}</th>${found.columns.map((column) => html`<th scope="col">${columnWords(column)}</th>`)}</tr></thead>
          <tbody>
            ${found.rows.slice(0, MOST_SHOWN).map((row) => html`<tr class=${Object.keys(row.errors).length > 0 ? "refused" : ""}>
              <th scope="row">${row.line}</th>
              ${found.columns.map((column) => html`<td>${cellOf(now.book, row, column)}${row.errors[column] ? html`<span class="fault">${said(row.errors[column])}</span>` : nothing}</td>`)}
            </tr>`)}
          </tbody>
        </table>
      </div>
      ${bad > 0 ? html`<p class="fault">${say("book.pasteBad", { count: bad })}</p>` : nothing}
      <button type="button" class="primary" data-testid="book-take" ?disabled=${count === 0} @click=${() => this.take(now, found, count)}>${say("book.pasteTake", { count })}</button>`;
  }

  private take({ id, book }: Open, found: BookPreview, count: number): void {
    if (!attempt(this.session, say("book.pasteLabel", { count }), takenOps(id, book, found))) return;
    this.text.value = "";
    this.found.value = null;
    notice.value = say("book.pasteDone", { count });
  }
}

const COLUMNS: Readonly<Record<string, Word>> = {
  station: "book.column.point", back: "book.column.back", instrument: "book.column.instrument", inter: "book.column.between", fore: "book.column.fore",
  elevation: "book.column.elevation", distance: "book.column.distance", back_distance: "book.column.backDistance", fore_distance: "book.column.foreDistance",
  remarks: "book.column.remarks",
};

function columnWords(column: string): string {
  const word = COLUMNS[column];
  return word ? say(word) : column;
}

function cellOf(book: Book, row: PageRow, column: string): string {
  if (column === "station") return row.station;
  if (column === "remarks") return row.remarks;
  const value = row.numbers[column];
  if (value === undefined) return "";
  return format(value, column === "elevation" || column === "instrument" ? "elevation" : "length", shownOf(book), bookStyle(book));
}

/** Operations that put the lines of a pasted page behind those of a book, with the points that it brings. */
export function takenOps(id: string, book: Book, found: BookPreview): Op[] {
  const setUps = [...(book.set_ups ?? []), ...(found.book.set_ups ?? [])] as unknown as Json;
  const add = (part: string, rows: Readonly<Record<string, unknown>>): Op[] =>
    Object.entries(rows).map(([name, row]) => ({ op: "add", path: pointer("site", part, name), value: row as Json }));
  return [...add("marks", found.marks), ...add("shots", found.shots), { op: "add", path: pointer("site", "books", id, "set_ups"), value: setUps }];
}

/** How many pages of level notes there are, for the line in the Site room. */
export function booksSays(_session: Session, { site }: Job): string {
  const count = Object.keys(site.books ?? {}).length;
  const marks = Object.values(site.marks ?? {}).filter(({ elevation }) => elevation != null).length;
  return count === 0 ? say("book.short") : say(count === 1 ? "book.countOne" : "book.count", { count, marks });
}
