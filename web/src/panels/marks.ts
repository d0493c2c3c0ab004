/** Known points: benchmarks for the levels, and the marks that tapes and base lines start from. */

import { html } from "lit";
import type { Mark } from "../api/survey";
import type { Job } from "../api/types";
import { say } from "../format/words";
import { attempt } from "../state/changes";
import { notice } from "../state/desk";
import { pointer, type Json } from "../state/ops";
import { pickPlace } from "../state/pick";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { numberBox, textBox } from "./boxes";
import { pointId } from "./book-sheet";
import { type RowsOf, fieldSetter, foldedRow, putRow, removeButton } from "./rows";
import type { Template } from "./view";

interface Draft {
  readonly name: string;
  readonly east: number | null;
  readonly north: number | null;
  readonly elevation: number | null;
}

const EMPTY: Draft = { name: "", east: null, north: null, elevation: null };

/** The next known point, while it is typed. */
const next: Signal<Draft> = signal(EMPTY);
/** East or north of a point whose other one is missing. */
const half: Signal<Readonly<Record<string, { readonly east: number | null; readonly north: number | null }>>> = signal({});

/** Marks that have a place, by their words. */
export function placedMarks(job: Job): readonly (readonly [id: string, words: string])[] {
  return Object.entries(job.site.marks ?? {}).filter(([, mark]) => mark.place != null).map(([id, mark]) => [id, mark.name || id] as const);
}

export function marksPart(session: Session, job: Job): Template {
  const marks = Object.entries(job.site.marks ?? {});
  const rows: RowsOf = { session, job, at: ["site", "marks"], label: say("marks.one") };
  return html`<details class="fold" ?open=${placedMarks(job).length < 2} data-testid="marks">
    <summary>${say("marks.title", { count: marks.length })}</summary>
    <p class="quiet">${say("marks.says")}</p>
    ${marks.map(([id, mark]) => foldedRow(rows, id, html`<b>${mark.name || id}</b>`, markBoxes(rows, id, mark)))}
    ${newMark(session, job)}
  </details>`;
}

function markBoxes(rows: RowsOf, id: string, mark: Mark): Template {
  const set = fieldSetter(rows, id);
  const held = { ...(mark.place ?? { east: null, north: null }), ...half.value[id] };
  const place = (key: "east" | "north") => (value: number | null): boolean => {
    const now = { east: held.east, north: held.north, [key]: value };
    if (now.east === null || now.north === null) {
      half.value = { ...half.value, [id]: now };
      return true;
    }
    const { [id]: _done, ...rest } = half.value;
    half.value = rest;
    return set("place")({ at: "point", east: now.east, north: now.north });
  };
  return html`${textBox({ id: `mark-name-${id}`, label: say("plan.box.name"), value: mark.name ?? "", otherwise: id, set: set("name") })}
    <div class="row">
      ${numberBox({ id: `mark-east-${id}`, label: say("plan.box.east"), kind: "length", value: held.east, set: place("east") })}
      ${numberBox({ id: `mark-north-${id}`, label: say("plan.box.north"), kind: "length", value: held.north, set: place("north") })}
    </div>
    ${numberBox({ id: `mark-elevation-${id}`, label: say("plan.box.elevation"), kind: "elevation", value: mark.elevation ?? null, set: set("elevation") })}
    <p class="row">
      <button type="button" @click=${() => pickPlace({ title: say("marks.pick", { name: mark.name || id }), looks: false, before: null, take: ({ place: [east, north] }) => void putRow(rows, id, { ...mark, place: { at: "point", east, north } }) })}>${say("marks.onPlan")}</button>
      ${removeButton(rows, id, mark.name || id)}
    </p>`;
}

function newMark(session: Session, job: Job): Template {
  const draft = next.value;
  const set = (key: keyof Draft) => (value: string | number | null): boolean => {
    next.value = { ...draft, [key]: value };
    return true;
  };
  const keep = (): void => {
    const id = pointId(draft.name, Object.keys(job.site.marks ?? {}));
    if (id === "") return void (notice.value = say("marks.needsName"));
    if (id in (job.site.marks ?? {})) return void (notice.value = say("marks.known", { name: draft.name }));
    const { east, north, elevation } = draft;
    const place = east === null || north === null ? {} : { place: { at: "point", east, north } };
    const value = { ...(id === draft.name ? {} : { name: draft.name.trim() }), ...place, ...(elevation === null ? {} : { elevation }) } as Json;
    if (attempt(session, say("rows.add", { what: say("marks.one") }), [{ op: "add", path: pointer("site", "marks", id), value }])) next.value = EMPTY;
  };
  return html`<div class="new-mark">
    ${textBox({ id: "mark-new-name", label: say("marks.newName"), value: draft.name, set: set("name") })}
    <div class="row">
      ${numberBox({ id: "mark-new-east", label: say("plan.box.east"), kind: "length", value: draft.east, set: set("east") })}
      ${numberBox({ id: "mark-new-north", label: say("plan.box.north"), kind: "length", value: draft.north, set: set("north") })}
      ${numberBox({ id: "mark-new-elevation", label: say("plan.box.elevation"), kind: "elevation", value: draft.elevation, set: set("elevation") })}
    </div>
    <p class="row">
      <button type="button" @click=${() => pickPlace({ title: say("marks.pick", { name: draft.name }), looks: false, before: null, take: ({ place: [east, north] }) => (next.value = { ...next.value, east, north }) })}>${say("marks.onPlan")}</button>
      <button type="button" class="primary" data-testid="mark-keep" @click=${keep}>${say("marks.keep")}</button>
    </p>
  </div>`;
}
