/** A box for a height: any unit, plus and minus from the water line; the reason stands below when it is not taken. */

import { type TemplateResult, html, nothing } from "lit";
import { live } from "lit/directives/live.js";
import { say } from "../format/words";
import type { Grip, HeightHand } from "./hand";

let count = 0;

export class HeightBox {
  private readonly id = `height-box-${(count += 1)}`;
  private wrong: { text: string; why: string } | null = null;
  /** What is being typed: a frame that comes meanwhile must not put the old number back. */
  private typed: string | null = null;

  constructor(
    private readonly hand: HeightHand,
    private readonly changed: () => void,
  ) {}

  template(grip: Grip, label: string, text: string): TemplateResult {
    const { id, wrong, typed } = this;
    return html`<span class="height-box">
      <label for=${id}>${label}</label>
      <input id=${id} type="text" autocomplete="off" spellcheck="false" data-testid="box-${grip.name}"
        .value=${live(typed ?? wrong?.text ?? text)} aria-invalid=${wrong ? "true" : nothing} aria-describedby=${wrong ? `${id}-why` : nothing}
        @input=${(event: Event) => (this.typed = (event.target as HTMLInputElement).value)}
        @blur=${() => this.left()}
        @change=${(event: Event) => this.take(event.target as HTMLInputElement, grip)}
        @keydown=${(event: KeyboardEvent) => this.key(event, text)} />
      ${wrong ? html`<span id="${id}-why" class="wrong" role="alert">${wrong.why}</span>` : nothing}
    </span>`;
  }

  private take(input: HTMLInputElement, grip: Grip): void {
    this.typed = null;
    const why = input.value.trim() === "" ? say("shore.emptyBox") : this.hand.type(input.value, grip);
    this.wrong = why === null ? null : { text: input.value, why };
    this.changed();
  }

  /** What was typed and is what stood there anyway is no change, and no longer held. */
  private left(): void {
    if (this.typed === null) return;
    this.typed = null;
    this.changed();
  }

  private key(event: KeyboardEvent, text: string): void {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    this.typed = null;
    this.wrong = null;
    (event.target as HTMLInputElement).value = text;
    this.changed();
  }
}
