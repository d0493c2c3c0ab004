/** The row over the picture in the round: from where is looked, what is shown, how much larger heights are drawn. */

import { html, nothing } from "lit";
import { say } from "../format/words";
import type { Template } from "../panels/view";
import { type Signal, signal } from "../state/signal";
import type { Layer } from "./scene";
import type { Spot } from "./seats";

const STRETCHES = [1, 2, 3, 5] as const;
export const LAYERS: readonly Layer[] = ["old", "new", "water", "ways", "seats", "things", "liner", "stones"];

/** What is chosen over the picture. */
export class Choices {
  readonly stretch: Signal<number> = signal(2);
  readonly layers: Readonly<Record<Layer, Signal<boolean>>>;
  /** Whether the list of what is shown is folded out, where the page is narrow. */
  readonly listed: Signal<boolean> = signal(false);

  constructor() {
    this.layers = Object.fromEntries(LAYERS.map((layer) => [layer, signal(true)])) as unknown as Record<Layer, Signal<boolean>>;
  }

  /** Read everything, so that whoever follows is told of each change. */
  follow(): void {
    void [this.stretch.value, this.listed.value, ...LAYERS.map((layer) => this.layers[layer].value)];
  }
}

/** List of seats to look from. */
export function seatChoice(spots: readonly Spot[], seat: string | null, choose: (seat: string | null) => void): Template {
  if (spots.length === 0) return nothing;
  return html`<label class="round-from">${say("three.lookFrom")}
    <select data-testid="look-from" @change=${(event: Event) => choose((event.target as HTMLSelectElement).value || null)}>
      <option value="" ?selected=${seat === null} .selected=${seat === null}>${say("three.nowhere")}</option>
      ${spots.map(({ id, name }) => html`<option value=${id} ?selected=${id === seat} .selected=${id === seat}>${name}</option>`)}
    </select></label>`;
}

/** Buttons of one who looks from a seat. */
export function seatTools(straight: () => void, back: () => void): Template {
  return html`<span class="view-tools">
    <button type="button" @click=${straight}>${say("three.straight")}</button>
    <button type="button" data-testid="round-back" @click=${back}>${say("three.back")}</button>
  </span>`;
}

/** What is shown from outside, and from where. */
export function outsideTools({ stretch, layers, listed }: Choices, home: () => void, above: () => void): Template {
  return html`<button type="button" class="round-fold" aria-expanded=${listed.value ? "true" : "false"} @click=${() => void (listed.value = !listed.value)}>${say("three.layers")}</button>
    <fieldset class=${listed.value ? "open" : ""}><legend class="unseen">${say("three.layers")}</legend>
      ${LAYERS.map((layer) => html`<label><input type="checkbox" .checked=${layers[layer].value}
        @change=${(event: Event) => void (layers[layer].value = (event.target as HTMLInputElement).checked)} />${say(`three.${layer}`)}</label>`)}
    </fieldset>
    <label>${say("three.stretch")}
      <select @change=${(event: Event) => void (stretch.value = Number((event.target as HTMLSelectElement).value))}>
        ${STRETCHES.map((factor) => html`<option value=${factor} .selected=${factor === stretch.value}>× ${factor}</option>`)}
      </select></label>
    <span class="view-tools">
      <button type="button" @click=${home}>${say("three.home")}</button>
      <button type="button" @click=${above}>${say("three.above")}</button>
    </span>`;
}
