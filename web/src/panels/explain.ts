/** Where a number comes from: formula, inputs with their values, sources, and what moved it. */

import { html, nothing } from "lit";
import { explain, versions } from "../api/rest";
import type { Change, Explanation } from "../api/types";
import { shown, shownFigure } from "../format/shown";
import { say } from "../format/words";
import { openNext } from "../state/desk";
import type { Json } from "../state/ops";
import { fieldWords } from "../state/schema";
import type { Session } from "../state/session";
import { signal } from "../state/signal";
import { choiceBox } from "./boxes";
import { type Dispose, type Template, fetched, mountView, waitingOr } from "./view";

/** Explanation of one figure or value of the document. */
export function mountExplain(host: HTMLElement, session: Session, path: string): Dispose {
  const since = signal("");
  const told = fetched(() => {
    void session.rev.value;
    return explain(session.id, path, since.value);
  });
  const named = fetched(() => versions(session.id));
  const stop = mountView(host, () => {
    const names = (named.answer.value.value ?? []).map(({ name }) => [name, name] as const);
    return html`${waitingOr(told.answer.value, (found) => explained(session, found, since.value))}
    ${names.length === 0
      ? nothing
      : choiceBox({
          id: "explain-since",
          label: say("explain.moved"),
          value: since.value,
          of: [["", "–"], ...names],
          set: (name) => (since.value = name),
        })}`;
  });
  return () => {
    told.stop();
    named.stop();
    stop();
  };
}

function explained(session: Session, found: Explanation, since: string): Template {
  const now = session.figures.value[found.path];
  const value = now ?? found.value;
  const kind = found.kind ?? "";
  const { method } = found;
  return html`<p class="lead">${found.says || found.path}</p>
    <p class="value">${words(session, value, kind, found.says)}</p>
    ${found.status === "stale" ? html`<p class="quiet">${say("explain.stale")}</p>` : nothing}
    ${method
      ? html`<h3>${say("explain.how")}</h3>
          <p>${method.summary}</p>
          ${method.formula ? html`<h3>${say("explain.formula")}</h3><pre tabindex="0">${method.formula}</pre>` : nothing}`
      : found.stage === null
        ? html`<p>${say("explain.measured")}</p>`
        : nothing}
    ${found.inputs.length > 0
      ? html`<h3>${say("explain.inputs")}</h3>
          <dl class="lines">
            ${found.inputs.map(
              (input) => html`<div class="line">
                <dt>${input.says || fieldWords(input.path)}</dt>
                <dd>
                  ${typeof input.value === "number"
                    ? html`<button type="button" class="figure" aria-label=${say("number.open", { name: input.says || input.path, value: words(session, input.value, input.kind ?? "", input.says) })}
                        @click=${() => openNext({ kind: "figure", path: input.path })}>${words(session, input.value, input.kind ?? "", input.says)}</button>`
                    : words(session, input.value, input.kind ?? "", input.says)}
                </dd>
              </div>`,
            )}
          </dl>`
      : nothing}
    ${found.defaults.length > 0
      ? html`<h3>${say("explain.defaults")}</h3>
          <ul>
            ${found.defaults.map((one) => html`<li>${fieldWords(one.path)}: ${one.value === null ? say("defaults.worked") : shown(one.value, one.kind ?? "ratio")}: ${one.says} (${one.source})</li>`)}
          </ul>
          <button type="button" @click=${() => openNext({ kind: "defaults" })}>${say("defaults.title")}</button>`
      : nothing}
    ${method && method.references.length > 0
      ? html`<h3>${say("explain.sources")}</h3>
          <ul>
            ${method.references.map((source) => html`<li>${source}</li>`)}
          </ul>`
      : nothing}
    ${since
      ? html`<p>${say("explain.since", { name: since, before: words(session, found.before, kind, found.says) })}</p>
          <ul>
            ${found.moved_by.map((change) => html`<li>${changeLine(change)}</li>`)}
          </ul>`
      : nothing}`;
}

/** A value in words: a number with its unit, or what kind of thing it is. */
function words(session: Session, value: Json, kind: string, says: string): string {
  if (typeof value === "number") return kind ? shownFigure(value, kind, says, session.waterLine.value) : String(value);
  if (Array.isArray(value)) return Array.isArray(value[0]) ? say("explain.field") : say("explain.many", { count: value.length });
  if (value !== null && typeof value === "object") return say("explain.many", { count: Object.keys(value).length });
  return value === null ? "–" : String(value);
}

function changeLine(change: Change): string {
  return change.says ?? `${fieldWords(change.path)}: ${short(change.before)} → ${short(change.now)}`;
}

function short(value: Json | undefined): string {
  const text = typeof value === "number" ? String(Number(value.toPrecision(6))) : (JSON.stringify(value) ?? "–");
  return text.length > 60 ? `${text.slice(0, 60)}…` : text;
}
