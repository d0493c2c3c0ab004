/** The soil of the shape: what is dug, what is placed, what is left over. */

import { html, nothing } from "lit";
import { shown } from "../format/shown";
import { type Word, say, sayIfKnown } from "../format/words";
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

export function earthPart(session: Session): Template {
  return html`<section class="earth">
    <h3>${say("earth.title")}</h3>
    <dl class="lines">
      ${doubtful(session, "earth.soil.dug", "earth.soil.dug_sigma", "earth.dug")}
      ${doubtful(session, "earth.soil.placed", "earth.soil.placed_sigma", "earth.placed")}
      ${LINES.map((path) => figureLine(session, path))}
    </dl>
    ${byKind(session)}
    <p class="quiet">${say("earth.levels")}</p>
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
