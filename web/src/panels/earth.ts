/** The soil of the shape: what is dug, what is placed, what is left over, and what each level costs. */

import { html, nothing } from "lit";
import { type Field, fieldOfBody, valueOf } from "../api/frame";
import { shown } from "../format/shown";
import { type Word, say, sayIfKnown } from "../format/words";
import { attempt } from "../state/changes";
import { pointer } from "../state/ops";
import type { Session } from "../state/session";
import { figureButton, figureLine } from "./figures";
import type { Template } from "./view";

const LINES = [
  "earth.soil.surplus_bank",
  "earth.soil.export_loose",
  "earth.soil.export_mass",
  "earth.soil.load_count",
  "earth.soil.topsoil_stripped",
  "earth.soil.settlement_allowance",
  "earth.soil.greatest_dig",
  "earth.subgrade.thickest",
];
const BY_KIND = ["dug", "stripped", "loose", "compacted"] as const;
const KIND_OF_COLUMN: Readonly<Record<string, string>> = { level: "elevation", volume: "volume", area: "area", rim_to_raise: "length" };

export function earthPart(session: Session, body: string): Template {
  return html`<section class="earth">
    <h3>${say("earth.title")}</h3>
    <dl class="lines">
      ${doubtful(session, "earth.soil.dug", "earth.soil.dug_sigma", "earth.dug")}
      ${doubtful(session, "earth.soil.placed", "earth.soil.placed_sigma", "earth.placed")}
      ${LINES.map((path) => figureLine(session, path))}
    </dl>
    ${byKind(session)} ${levelTable(session, body)}
  </section>`;
}

/** A figure with what the survey leaves open about it. */
function doubtful(session: Session, path: string, sigmaPath: string, word: Word): Template {
  const value = session.figures.value[path];
  const sigma = session.figures.value[sigmaPath];
  if (value === undefined) return nothing;
  return html`<div class="line">
    <dt>${say(word)}</dt>
    <dd>
      ${figureButton(session, path, say(word), "soil volume", value)}
      ${sigma === undefined ? nothing : html`<span class="quiet">± ${shown(sigma, "soil volume")}</span>`}
    </dd>
  </div>`;
}

function byKind(session: Session): Template {
  const figures = session.figures.value;
  const kinds = [...new Set(Object.keys(figures).flatMap((path) => /^earth\.soil\.by_kind\.([^.]+)\./.exec(path)?.[1] ?? []))];
  const some = kinds.filter((kind) => BY_KIND.some((name) => (figures[`earth.soil.by_kind.${kind}.${name}`] ?? 0) > 0));
  if (some.length === 0) return nothing;
  return html`<div class="wide">
    <table class="plain">
      <caption>${say("earth.byKind")}</caption>
      <thead>
        <tr><th scope="col">${say("earth.kind")}</th>${BY_KIND.map((name) => html`<th scope="col">${say(`earth.${name}`)}</th>`)}</tr>
      </thead>
      <tbody>
        ${some.map(
          (kind) => html`<tr>
            <th scope="row">${sayIfKnown(`soil.${kind}`, kind)}</th>
            ${BY_KIND.map((name) => {
              const path = `earth.soil.by_kind.${kind}.${name}`;
              return html`<td>${shown(figures[path], "soil volume")}</td>`;
            })}
          </tr>`,
        )}
      </tbody>
    </table>
  </div>`;
}

/** Every level around the chosen one with its soil; one press sets it. */
function levelTable(session: Session, body: string): Template {
  const frame = session.frame.value;
  const field = frame === null ? undefined : fieldOfBody(frame, "levels", body);
  if (field === undefined) return html`<h4>${say("earth.levels")}</h4><p class="quiet">${say("earth.noLevels")}</p>`;
  const owner = field.head.body ?? body;
  const [rows = 0, columns = 0] = field.shape;
  // What is the same at every level is no part of the choice.
  const names = field.columns.filter((_, column) => column === 0 || !isSame(field, rows, column, columns));
  const at = (name: string): number => field.columns.indexOf(name);
  const current = session.figures.value[`shape.shore.bodies.${owner}.level`];
  const setLevel = (level: number): boolean =>
    attempt(session, say("shape.level"), [{ op: "add", path: pointer("shape", "bodies", owner, "level"), value: level }]);
  return html`<div class="wide">
    <table class="plain levels">
      <caption>${say("earth.levels")}</caption>
      <thead>
        <tr>${names.map((name) => html`<th scope="col">${sayIfKnown(`earth.${name}`, name)}</th>`)}</tr>
      </thead>
      <tbody>
        ${Array.from({ length: rows }, (_, row) => {
          const level = cell(field, row, 0, columns);
          const here = current !== undefined && Math.abs(level - current) < 1e-6;
          return html`<tr aria-current=${here ? "true" : nothing}>
            ${names.map((name) => {
              const text = cellText(session, name, cell(field, row, at(name), columns));
              if (at(name) > 0) return html`<td>${text}</td>`;
              return html`<th scope="row">
                <button type="button" class="figure" aria-label=${say("earth.useLevel", { level: text })} @click=${() => setLevel(level)}>${text}</button>
              </th>`;
            })}
          </tr>`;
        })}
      </tbody>
    </table>
  </div>`;
}

function isSame(field: Field, rows: number, column: number, columns: number): boolean {
  const first = cell(field, 0, column, columns);
  return Array.from({ length: rows }, (_, row) => cell(field, row, column, columns)).every((value) => Math.abs(value - first) < 1e-6);
}

function cell(field: Field, row: number, column: number, columns: number): number {
  return valueOf(field, row * columns + column);
}

function cellText(session: Session, name: string, value: number): string {
  return shown(value, KIND_OF_COLUMN[name] ?? "soil volume", session.waterLine.value);
}
