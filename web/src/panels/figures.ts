/** Figures with their names; each opens where it comes from. */

import { html, nothing } from "lit";
import { shown, shownChange, shownFigure } from "../format/shown";
import { type Trade, tradeText } from "../format/trade";
import { type Word, say } from "../format/words";
import { figureInfo } from "../state/catalogue";
import { bodyInHand, openNext } from "../state/desk";
import type { Session } from "../state/session";
import { units } from "../state/settings";
import { mainBody } from "./main-body";
import type { Template } from "./view";

/** A named figure on a line of its own; nothing while the job does not have it. */
export function figureLine(session: Session, path: string, name?: string): Template {
  const value = session.figures.value[path];
  if (value === undefined) return nothing;
  const info = figureInfo(path);
  const words = name ?? info?.says ?? path;
  return html`<div class="line">
    <dt>${words}</dt>
    <dd>${figureButton(session, path, words, info?.kind ?? "ratio", value)}</dd>
  </div>`;
}

/** A figure that opens its explanation when it is pressed. */
export function figureButton(session: Session, path: string, name: string, kind: string, value: number): Template {
  // The water line itself is told as an elevation, not as nothing above itself.
  const text = shownFigure(value, kind, figureInfo(path)?.says ?? "", path.startsWith("shape.shore.") && path.endsWith(".level") ? null : session.waterLine.value);
  return html`<button
    class="figure"
    type="button"
    aria-label=${say("number.open", { name, value: text })}
    @click=${() => openNext({ kind: "figure", path })}
  >
    ${text}
  </button>`;
}

/** A figure that the trade tells in a unit of its own; it opens its explanation as any other. */
export function tradeFigure(path: string, name: string, trade: Trade, value: number): Template {
  const text = tradeText(value, trade, units.value);
  return html`<button class="figure" type="button" aria-label=${say("number.open", { name, value: text })} @click=${() => openNext({ kind: "figure", path })}>${text}</button>`;
}

/** Body of water that the numbers are about: the one in hand, or the pond. */
export function bodyShown(session: Session): string | null {
  const bodies = session.shown.value?.shape.bodies ?? {};
  const held = bodyInHand.value;
  return held !== null && held in bodies ? held : mainBody(bodies, (name) => session.figures.value[`shape.shore.bodies.${name}.area`] ?? 0);
}

interface CornerNumber {
  readonly word: Word;
  readonly path: string;
  readonly kind: string;
}

/** The four numbers in the corner: the level, the water, the dig, and what soil is left over. */
export function cornerNumbers(session: Session): readonly CornerNumber[] {
  const body = bodyShown(session);
  const missing = (session.figures.value["earth.soil.surplus_bank"] ?? 0) < 0;
  return [
    { word: "number.level", path: `shape.shore.bodies.${body ?? ""}.level`, kind: "elevation" },
    { word: "number.volume", path: `shape.storage.bodies.${body ?? ""}.volume`, kind: "volume" },
    { word: "number.dug", path: "earth.soil.dug", kind: "soil volume" },
    { word: missing ? "number.missing" : "number.surplus", path: "earth.soil.surplus_bank", kind: "soil volume" },
  ];
}

/** The corner block, with the change since the hand took hold. */
export function cornerBlock(session: Session): Template {
  const figures = session.figures.value;
  const before = session.before.value;
  if (bodyShown(session) === null) return nothing;
  return html`<dl class="corner" aria-label=${say("number.title")} aria-live="off">
    ${cornerNumbers(session).map(({ word, path, kind }) => {
      const value = figures[path];
      const start = before?.[path];
      const change = value !== undefined && start !== undefined ? value - start : 0;
      return html`<div class="corner-number" data-path=${path}>
        <dt>${say(word)}</dt>
        <dd>
          ${value === undefined ? html`<span class="figure">${say("number.none")}</span>` : figureButton(session, path, say(word), kind, word === "number.missing" ? -value : value)}
        </dd>
        <dd class="change">${change === 0 ? nothing : html`${change > 0 ? "▲" : "▼"} ${shownChange(change, kind)}`}</dd>
      </div>`;
    })}
  </dl>`;
}

/** One sentence of the four numbers, to be read aloud after the drop; empty while there are none. */
export function cornerSentence(session: Session): string {
  const figures = session.figures.value;
  const parts = cornerNumbers(session)
    .filter(({ path }) => figures[path] !== undefined)
    .map(({ word, path, kind }) => `${say(word)} ${shown(figures[path], kind, session.waterLine.value)}`);
  return parts.length === 0 ? "" : say("number.dropped", { list: parts.join(", ") });
}
