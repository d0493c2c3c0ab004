/** Boxes to type in: any unit in any box, the fault beside it in one sentence, nothing lost. */

import { html, nothing } from "lit";
import { live } from "lit/directives/live.js";
import { readMoney, sameMoney, writeMoney } from "../format/money";
import { withCommas } from "../format/numbers";
import { type Trade, tradeText, tradeUnit } from "../format/trade";
import { type Kind, NotRead, format, parse } from "../format/units";
import { say } from "../format/words";
import { notice } from "../state/desk";
import { heights, units } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import type { Template } from "./view";

interface Draft {
  readonly text: string;
  readonly fault: string;
}

/** What was typed and not yet taken, by box; it outlives the panel it was typed in. */
const drafts: Signal<ReadonlyMap<string, Draft>> = signal<ReadonlyMap<string, Draft>>(new Map());

export interface NumberBox {
  readonly id: string;
  readonly label: string;
  readonly kind: Kind;
  /** The trade tells it in a unit of its own. */
  readonly trade?: Trade;
  readonly value: number | null;
  readonly waterLine?: number | null;
  /** What holds while the box is empty. */
  readonly otherwise?: string;
  readonly note?: string;
  /** Whether the box may be empty. */
  readonly needed?: boolean;
  /** Take the value over; false when it could not be taken. */
  set(value: number | null): boolean;
}

/** Text of a value as its box shows it: short, and read back as the same to what is shown. */
export function boxText(value: number, kind: Kind, waterLine: number | null): string {
  const relativeTo = kind === "elevation" && heights.value === "water" ? waterLine : null;
  return format(value, kind, units.value, { relativeTo });
}

/** Value of a text typed at a box; throws NotRead. */
export function boxValue(text: string, kind: Kind, waterLine: number | null): number {
  return parse(text, kind, units.value, waterLine, { relative: heights.value === "water" }).value;
}

/** A box for one number with its unit. */
export function numberBox(box: NumberBox): Template {
  const waterLine = box.waterLine ?? null;
  const take = (text: string): string => {
    if (text.trim() === "") {
      if (box.needed) return say("box.outside", { rule: box.label });
      return box.set(null) ? "" : notice.value;
    }
    try {
      return box.set(box.trade ? parse(text, box.kind, units.value, null, { unit: tradeUnit(box.trade, units.value) }).value : boxValue(text, box.kind, waterLine)) ? "" : notice.value;
    } catch (fault) {
      if (fault instanceof NotRead) return fault.message;
      throw fault;
    }
  };
  const text = box.value === null ? "" : box.trade ? tradeText(box.value, box.trade, units.value) : boxText(box.value, box.kind, waterLine);
  return typedBox({ ...box, text, take });
}

export interface MoneyBox {
  readonly id: string;
  readonly label: string;
  readonly value: number | null;
  /** The money of the amount, as its own box says it; empty while nobody has said. */
  readonly currency: string;
  /** Take an amount over, with its currency; false when it could not be taken. */
  set(value: number | null, currency: string): boolean;
}

/** A box for an amount of money; a currency typed with it goes into the currency's own box. */
export function moneyBox({ id, label, value, currency, set }: MoneyBox): Template {
  const take = (text: string): string => {
    if (text.trim() === "") return set(null, currency) ? "" : notice.value;
    try {
      const typed = readMoney(text);
      if (typed.currency && currency && !sameMoney(typed.currency, currency)) return say("box.otherMoney", { typed: typed.currency, currency });
      return set(typed.value, currency || typed.currency) ? "" : notice.value;
    } catch (fault) {
      if (fault instanceof NotRead) return fault.message;
      throw fault;
    }
  };
  return typedBox({ id, label, text: value === null ? "" : money(value), take });
}

function money(value: number): string {
  return units.value === "metric" ? writeMoney(value) : withCommas(writeMoney(value));
}

export interface TextBox {
  readonly id: string;
  readonly label: string;
  readonly value: string;
  readonly otherwise?: string;
  set(value: string): boolean;
}

/** A box for a line of words. */
export function textBox(box: TextBox): Template {
  return typedBox({ ...box, text: box.value, take: (text) => (box.set(text.trim()) ? "" : notice.value) });
}

export interface LongBox extends TextBox {
  readonly rows?: number;
  readonly note?: string;
}

/** A box for some sentences, or for a list with a line for each. */
export function longBox({ id, label, value, otherwise = "", note = "", rows = 2, set }: LongBox): Template {
  const draft = drafts.value.get(id);
  const fault = draft?.fault ?? "";
  const about = [note ? `${id}-note` : "", fault ? `${id}-fault` : ""].filter(Boolean).join(" ");
  const typed = (event: Event): string => (event.target as HTMLTextAreaElement).value;
  return html`<div class="box">
    <label for=${id}>${label}</label>
    <textarea
      id=${id}
      data-testid=${id}
      rows=${rows}
      .value=${live(draft?.text ?? value)}
      placeholder=${otherwise}
      aria-invalid=${fault ? "true" : "false"}
      aria-describedby=${about || nothing}
      @input=${(event: Event) => keep(id, { text: typed(event), fault: "" })}
      @change=${(event: Event) => settle(id, typed(event), set(typed(event).trim()) ? "" : notice.value)}
    ></textarea>
    ${note ? html`<span class="note" id="${id}-note">${note}</span>` : nothing}
    ${fault ? html`<span class="fault" id="${id}-fault" role="alert">${fault}</span>` : nothing}
  </div>`;
}

export interface DayBox {
  readonly id: string;
  readonly label: string;
  /** The day as `2027-03-31`, or null. */
  readonly value: string | null;
  set(value: string | null): boolean;
}

/** A box for a day. */
export function dayBox({ id, label, value, set }: DayBox): Template {
  return html`<div class="box">
    <label for=${id}>${label}</label>
    <input
      id=${id}
      data-testid=${id}
      type="date"
      max="9999-12-31"
      .value=${live(value ?? "")}
      @change=${(event: Event) => set((event.target as HTMLInputElement).value || null)}
    />
  </div>`;
}

export interface TickBox {
  readonly id: string;
  readonly label: string;
  readonly value: boolean;
  set(value: boolean): void;
}

/** A box to tick. */
export function tickBox({ id, label, value, set }: TickBox): Template {
  return html`<label class="tick"
    ><input type="checkbox" id=${id} data-testid=${id} .checked=${live(value)} @change=${(event: Event) => set((event.target as HTMLInputElement).checked)} /><span>${label}</span></label
  >`;
}

interface Typable {
  readonly id: string;
  readonly label: string;
  readonly text: string;
  readonly otherwise?: string;
  readonly note?: string;
  take(text: string): string;
}

function typedBox({ id, label, text, otherwise = "", note = "", take }: Typable): Template {
  const draft = drafts.value.get(id);
  const fault = draft?.fault ?? "";
  const about = [note ? `${id}-note` : "", fault ? `${id}-fault` : ""].filter(Boolean).join(" ");
  const typed = (event: Event): string => (event.target as HTMLInputElement).value;
  return html`<div class="box">
    <label for=${id}>${label}</label>
    <input
      id=${id}
      data-testid=${id}
      type="text"
      autocomplete="off"
      spellcheck="false"
      .value=${live(draft?.text ?? text)}
      placeholder=${otherwise}
      aria-invalid=${fault ? "true" : "false"}
      aria-describedby=${about || nothing}
      @input=${(event: Event) => keep(id, { text: typed(event), fault: "" })}
      @change=${(event: Event) => settle(id, typed(event), take(typed(event)))}
      @keydown=${(event: KeyboardEvent) => {
        if (event.key !== "Escape" || !drafts.value.has(id)) return;
        event.stopPropagation();
        keep(id, null);
      }}
    />
    ${note ? html`<span class="note" id="${id}-note">${note}</span>` : nothing}
    ${fault ? html`<span class="fault" id="${id}-fault" role="alert">${fault}</span>` : nothing}
  </div>`;
}

function settle(id: string, text: string, fault: string): void {
  keep(id, fault ? { text, fault } : null);
}

function keep(id: string, draft: Draft | null): void {
  const next = new Map(drafts.value);
  if (draft) next.set(id, draft);
  else next.delete(id);
  drafts.value = next;
}

export interface Choice<T extends string> {
  readonly id: string;
  readonly label: string;
  readonly value: T;
  readonly of: readonly (readonly [value: T, words: string])[];
  set(value: T): void;
}

/** A list to choose one from. */
export function choiceBox<T extends string>({ id, label, value, of, set }: Choice<T>): Template {
  return html`<div class="box">
    <label for=${id}>${label}</label>
    <select id=${id} data-testid=${id} .value=${live(value)} @change=${(event: Event) => set((event.target as HTMLSelectElement).value as T)}>
      ${of.map(([key, words]) => html`<option value=${key} ?selected=${key === value}>${words}</option>`)}
    </select>
  </div>`;
}

/** A few words side by side, one of them chosen. */
export function wordSwitch<T extends string>({ id, label, value, of, set }: Choice<T>): Template {
  return html`<fieldset class="switch" data-testid=${id}>
    <legend>${label}</legend>
    ${of.map(
      ([key, words]) =>
        html`<label
          ><input type="radio" name=${id} value=${key} .checked=${live(key === value)} @change=${() => set(key)} /><span>${words}</span></label
        >`,
    )}
  </fieldset>`;
}
