/** The box of a line just drawn: what it is, and what is known of it. */

import { html, nothing } from "lit";
import { live } from "lit/directives/live.js";
import type { BoundKind, Job, Service } from "../api/types";
import { numberBox, textBox, tickBox } from "../panels/boxes";
import type { Template } from "../panels/view";
import { attempt, newId } from "../state/changes";
import { pointer } from "../state/ops";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import type { Boxed } from "./box";
import { BOUND_KINDS, LINE_THINGS, type LineWhat, SERVICES, boundRow, closesUsually, lineWhat, placeThrough, serviceRow } from "./line-kinds";
import { json } from "./rings";
import { say } from "./say";

interface Form {
  readonly name: string;
  readonly clear: number | null;
  readonly depth: number | null;
  readonly isPrivate: boolean;
  /** Null while nobody said otherwise: then the kind tells. */
  readonly closed: boolean | null;
}

const EMPTY: Form = { name: "", clear: null, depth: null, isPrivate: false, closed: null };

const form: Signal<Form> = signal(EMPTY);

export function lineBox({ session, hand }: Boxed, job: Job): Template {
  const what = lineWhat.value;
  const line = hand.draft.value?.line ?? [];
  const { name, clear, depth, isPrivate } = form.value;
  const closed = form.value.closed ?? (what.as === "bound" && closesUsually(what.kind));
  const set = (change: Partial<Form>): boolean => {
    form.value = { ...form.value, ...change };
    return true;
  };
  const keep = (): void => {
    const place = placeThrough(line, what.as === "bound" && closed);
    const row =
      what.as === "bound"
        ? boundRow(what.kind, place, { name, clear })
        : what.as === "service"
          ? serviceRow(what.kind, place, { name, clear, depth, isPrivate })
          : { kind: what.kind, place, ...(name ? { name } : {}), ...(clear === null ? {} : { clear }) };
    const map = what.as === "bound" ? "bounds" : "things";
    const id = newId(what.as === "service" ? `${what.kind}_line` : what.kind, (job.site[map] ?? {}) as Readonly<Record<string, unknown>>);
    const label = say("plan.label.thing", { name: name || wordsOf(what) });
    if (!attempt(session, label, [{ op: "add", path: pointer("site", map, id), value: json(row) }])) return;
    form.value = EMPTY;
    tool.value = "select";
  };
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${say("plan.tool.boundary")} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${say("plan.tool.boundary")}</h3>
    ${whatBox(what)} ${textBox({ id: "new-name", label: say("plan.box.name"), value: name, set: (value) => set({ name: value }) })}
    ${numberBox({ id: "new-clear", label: say("plan.box.clear"), kind: "length", value: clear, set: (value) => set({ clear: value }) })}
    ${what.as === "service"
      ? html`${numberBox({ id: "new-depth", label: say("plan.box.depth"), kind: "length", value: depth, set: (value) => set({ depth: value }) })}
          ${tickBox({ id: "new-private", label: say("plan.box.private"), value: isPrivate, set: (value) => void set({ isPrivate: value }) })}`
      : nothing}
    ${what.as === "bound" && line.length > 2
      ? tickBox({ id: "new-closed", label: say("plan.box.closed"), value: closed, set: (value) => void set({ closed: value }) })
      : nothing}
    <div class="buttons">
      <button type="button" class="primary" data-testid="keep-line" @click=${keep}>${say("plan.box.keep")}</button>
      <button type="button" @click=${() => hand.letGo()}>${say("plan.box.stop")}</button>
    </div>
  </form>`;
}

/** One list of everything that a line can be, in three groups. */
function whatBox(what: LineWhat): Template {
  const value = `${what.as}:${what.kind}`;
  const choose = (event: Event): void => {
    const [as, kind] = (event.target as HTMLSelectElement).value.split(":");
    lineWhat.value = { as, kind } as LineWhat;
    form.value = { ...form.value, closed: null };
  };
  const group = (words: string, some: readonly LineWhat[]): Template =>
    html`<optgroup label=${words}>
      ${some.map((one) => html`<option value="${one.as}:${one.kind}" ?selected=${value === `${one.as}:${one.kind}`}>${wordsOf(one)}</option>`)}
    </optgroup>`;
  return html`<div class="box">
    <label for="new-kind">${say("plan.box.kind")}</label>
    <select id="new-kind" data-testid="new-kind" .value=${live(value)} @change=${choose}>
      ${group(say("plan.group.bounds"), BOUND_KINDS.map((kind: BoundKind) => ({ as: "bound", kind }) as const))}
      ${group(say("plan.group.services"), SERVICES.map((kind: Service) => ({ as: "service", kind }) as const))}
      ${group(say("plan.group.things"), LINE_THINGS.map((kind) => ({ as: "thing", kind }) as const))}
    </select>
  </div>`;
}

function wordsOf(what: LineWhat): string {
  if (what.as === "bound") return say(`plan.bound.${what.kind}`);
  return what.as === "service" ? say(`plan.service.${what.kind}`) : say(`plan.kind.${what.kind}`);
}
