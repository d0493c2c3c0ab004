/** Rows of a map of the job, as the pages of the Site room change them. */

import { html } from "lit";
import type { Job } from "../api/types";
import { say } from "../format/words";
import { attempt, newId, setOps } from "../state/changes";
import { type Json, pointer, valueAtPath } from "../state/ops";
import type { Session } from "../state/session";
import { signal } from "../state/signal";
import type { Template } from "./view";

/** Row that was just put in, so that it stands open. */
export const freshRow = signal("");

export interface RowsOf {
  readonly session: Session;
  readonly job: Job;
  /** Where the rows are, for example `["brief", "permits"]`. */
  readonly at: readonly string[];
  /** What one of them is called in the history, for example “permit”. */
  readonly label: string;
}

/** Sets one field of a row. */
export function fieldSetter({ session, job, at, label }: RowsOf, id: string): (field: string) => (value: Json) => boolean {
  return (field) => (value) => attempt(session, say("rows.change", { what: label }), setOps(job, [...at, id, field], value));
}

/** Put in a row; gives its id, or null when it cannot be. */
export function addRow({ session, job, at, label }: RowsOf, stem: string, value: object): string | null {
  const rows = valueAtPath(job as unknown as Json, pointer(...at)) ?? {};
  const id = newId(stem, rows as Record<string, unknown>);
  if (!attempt(session, say("rows.add", { what: label }), [{ op: "add", path: pointer(...at, id), value: value as unknown as Json }])) return null;
  freshRow.value = [...at, id].join(".");
  return id;
}

/** Put a whole row in the place of another. */
export function putRow({ session, at, label }: RowsOf, id: string, value: object): boolean {
  return attempt(session, say("rows.change", { what: label }), [{ op: "add", path: pointer(...at, id), value: value as unknown as Json }]);
}

/** The button that takes a row out. */
export function removeButton({ session, at, label }: RowsOf, id: string, name: string): Template {
  const remove = (): void => void attempt(session, say("rows.remove", { what: label }), [{ op: "remove", path: pointer(...at, id) }]);
  return html`<button type="button" class="plain" aria-label=${say("rows.removeThis", { name })} @click=${remove}>${say("app.remove")}</button>`;
}

/** A row folded under its name; one that was just put in stands open. */
export function foldedRow({ at }: RowsOf, id: string, head: unknown, body: unknown): Template {
  return html`<details class="fold entry" ?open=${freshRow.value === [...at, id].join(".")}>
    <summary>${head}</summary>
    ${body}
  </details>`;
}
