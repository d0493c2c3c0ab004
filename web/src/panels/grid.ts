/** A table to type in: one roving cell, any unit in any box, paste from a spreadsheet, pages of 200 rows. */

import { html, nothing } from "lit";
import { live } from "lit/directives/live.js";
import type { ShownUnits } from "../api/types";
import { tradeUnit } from "../format/trade";
import { NotRead, unitOf } from "../format/units";
import { say } from "../format/words";
import { attempt } from "../state/changes";
import { notice } from "../state/desk";
import type { Json } from "../state/ops";
import type { Session } from "../state/session";
import { heights, units } from "../state/settings";
import { batch, signal } from "../state/signal";
import { type Column, type Pasted, type Setting, type Sheet, type SheetRow, type Values, cellText, cellValue, pasteOps, planned } from "./sheet";
import { type Dispose, type Template, mountView } from "./view";

const PAGE = 200;

export interface GridOptions {
  readonly name: string;
  sheet(): Sheet | null;
  /** A row has come into hand. */
  chosen(id: string): void;
  /** Units of the table, where they are its own and not those of the page. */
  shown?(): ShownUnits;
  /** What stands under the last row. */
  foot?(columns: number): Template;
  readonly hint?: string;
}

interface Cell {
  readonly row: number;
  readonly column: number;
}

interface Typing {
  readonly text: string;
  readonly fault: string;
}

export function mountGrid(host: HTMLElement, session: Session, options: GridOptions): Dispose {
  const grid = new Grid(host, session, options);
  const stop = mountView(host, () => grid.template());
  return stop;
}

class Grid {
  private readonly page = signal(0);
  private readonly active = signal<Cell>({ row: 0, column: 0 });
  private readonly typing = signal<Typing | null>(null);
  private readonly fresh = signal<Values | null>(null);
  /** Row below which the new one stands; null is the end. */
  private readonly below = signal<string | null>(null);
  private readonly pasted = signal<Pasted | null>(null);

  constructor(
    private readonly host: HTMLElement,
    private readonly session: Session,
    private readonly options: GridOptions,
  ) {}

  template(): Template {
    const sheet = this.options.sheet();
    if (sheet === null) return nothing;
    const rows = this.rows(sheet);
    const pages = Math.max(1, Math.ceil(rows.length / PAGE));
    const page = Math.min(this.page.value, pages - 1);
    const first = page * PAGE;
    const shown = rows.slice(first, first + PAGE);
    return html`<p class="quiet">${this.options.hint ?? say("table.hint")}</p>
      ${rows.length === 0 ? html`<p>${say("table.empty")}</p>` : nothing}
      <div class="wide">
        <table
          class="grid"
          role="grid"
          aria-label=${this.options.name}
          aria-rowcount=${rows.length + 1}
          aria-colcount=${sheet.columns.length + 2}
          tabindex=${rows.length === 0 ? 0 : nothing}
          @keydown=${(event: KeyboardEvent) => this.key(event, sheet)}
          @paste=${(event: ClipboardEvent) => this.paste(event, sheet)}
        >
          <thead>
            <tr aria-rowindex="1">
              <th scope="col">${say("table.id")}</th>
              ${sheet.columns.map((column) => html`<th scope="col">${column.label} <span class="unit">${unitWords(column, this.setting.shown)}</span></th>`)}
              <th scope="col"><span class="hidden">${say("table.deleteShort")}</span></th>
            </tr>
          </thead>
          <tbody>
            ${shown.map((row, at) => this.line(sheet, row, first + at))}
          </tbody>
          ${this.options.foot?.(sheet.columns.length + 2) ?? nothing}
        </table>
      </div>
      <p class="under">
        <button type="button" data-testid="row-add" @click=${() => this.add(sheet)}>${say("table.add")}</button>
        ${pages > 1
          ? html`<button type="button" ?disabled=${page === 0} @click=${() => this.turn(page - 1)}>${say("table.before")}</button>
              <span>${say("table.page", { from: first + 1, to: first + shown.length, count: rows.length })}</span>
              <button type="button" ?disabled=${page === pages - 1} @click=${() => this.turn(page + 1)}>${say("table.after")}</button>`
          : nothing}
      </p>
      ${this.preview(sheet)}`;
  }

  private get setting(): Setting {
    const shown = this.options.shown?.() ?? units.value;
    return { shown, waterLine: this.session.waterLine.value, relative: heights.value === "water" };
  }

  /** Rows of the sheet, and among them the new one that is being typed. */
  private rows(sheet: Sheet): readonly SheetRow[] {
    if (this.fresh.value === null) return sheet.rows;
    const at = sheet.rows.findIndex(({ id }) => id === this.below.value);
    return sheet.rows.toSpliced(at < 0 ? sheet.rows.length : at + 1, 0, { id: "", values: this.fresh.value, fixed: Object.fromEntries(workedOf(sheet).map(({ key }) => [key, ""])) });
  }

  private line(sheet: Sheet, row: SheetRow, at: number): Template {
    return html`${row.heading === undefined ? nothing : html`<tr class="part"><th scope="rowgroup" colspan=${sheet.columns.length + 2}>${row.heading}</th></tr>`}<tr aria-rowindex=${at + 2} class=${row.id === "" ? "fresh" : ""}>
      <th scope="row">${row.id || "+"}</th>
      ${sheet.columns.map((column, across) => this.cell(sheet, row, column, { row: at, column: across }))}
      <td class="of-row">
        ${sheet.ordered && row.id ? html`<button type="button" tabindex="-1" class="plain" aria-label=${say("table.insert", { id: row.id })} @click=${() => this.add(sheet, row.id)}>+</button>` : nothing}
        <button type="button" tabindex="-1" class="plain" aria-label=${say("table.delete", { id: row.id })} @click=${() => this.remove(sheet, row.id)}>×</button>
      </td>
    </tr>`;
  }

  private cell(sheet: Sheet, row: SheetRow, column: Column, at: Cell): Template {
    const { active, typing } = this;
    const isActive = active.value.row === at.row && active.value.column === at.column;
    const text = row.fixed[column.key] ?? cellText(column, row.values[column.key], this.setting);
    const draft = isActive ? typing.value : null;
    const number = typeof column.holds === "string" && !["words", "yes or no"].includes(column.holds);
    return html`<td
      role="gridcell"
      class=${[number ? "number" : "", column.key in row.fixed ? "fixed" : ""].join(" ")}
      tabindex=${isActive && draft === null ? 0 : -1}
      ?data-active=${isActive}
      aria-readonly=${column.key in row.fixed ? "true" : nothing}
      aria-invalid=${draft?.fault ? "true" : nothing}
      @mousedown=${() => this.go(sheet, at)}
      @focus=${() => this.go(sheet, at)}
      @dblclick=${() => this.edit(sheet, text)}
    >
      ${draft === null
        ? text
        : html`<input
              aria-label=${say("table.cellLabel", { column: column.label, id: row.id || "+" })}
              aria-describedby=${draft.fault ? "cell-fault" : nothing}
              .value=${live(draft.text)}
              @input=${(event: Event) => (typing.value = { text: (event.target as HTMLInputElement).value, fault: "" })}
              @blur=${() => this.settle(sheet)}
            />${draft.fault ? html`<span class="fault" id="cell-fault" role="alert">${draft.fault}</span>` : nothing}`}
    </td>`;
  }

  // Moving about.

  private go(sheet: Sheet, at: Cell): void {
    const { row, column } = this.active.value;
    if (row === at.row && column === at.column) return;
    if (this.typing.value && !this.settle(sheet)) return;
    this.active.value = at;
    const id = this.rows(sheet)[at.row]?.id;
    if (id) this.options.chosen(id);
  }

  private move(before: Sheet, down: number, across: number): void {
    // What was just typed may have made a row of the job of the new one.
    const sheet = this.options.sheet() ?? before;
    const { row, column } = this.active.value;
    const rows = this.rows(sheet).length;
    const next = {
      row: Math.max(0, Math.min(rows - 1, row + down)),
      column: Math.max(0, Math.min(sheet.columns.length - 1, column + across)),
    };
    this.go(sheet, next);
    this.page.value = Math.floor(next.row / PAGE);
    this.focusSoon();
  }

  private turn(page: number): void {
    batch(() => {
      this.page.value = page;
      this.active.value = { row: page * PAGE, column: this.active.value.column };
    });
    this.focusSoon();
  }

  /** After the table is drawn again, but before the next key: a fast typist must lose none. */
  private focusSoon(): void {
    queueMicrotask(() => {
      const cell = this.host.querySelector<HTMLElement>("[data-active]");
      (cell?.querySelector("input") ?? cell)?.focus();
    });
  }

  private key(event: KeyboardEvent, sheet: Sheet): void {
    if (event.target instanceof HTMLButtonElement) return;
    const done = this.typing.value ? this.keyTyping(event, sheet) : this.keyMoving(event, sheet);
    if (done) event.preventDefault();
  }

  private keyTyping(event: KeyboardEvent, sheet: Sheet): boolean {
    if (event.key === "Escape") {
      event.stopPropagation();
      this.typing.value = null;
      this.focusSoon();
      return true;
    }
    if (event.key !== "Enter" && event.key !== "Tab") return false;
    if (!this.settle(sheet)) return true;
    if (event.key === "Enter") this.move(sheet, event.shiftKey ? -1 : 1, 0);
    else this.move(sheet, 0, this.acrossWorked(sheet, event.shiftKey ? -1 : 1));
    return true;
  }

  /** Steps to the next cell that can be typed in; 0 where there is none. */
  private acrossWorked(sheet: Sheet, step: 1 | -1): number {
    const { column } = this.active.value;
    for (let at = column + step; at >= 0 && at < sheet.columns.length; at += step) if (!sheet.columns[at]?.worked) return at - column;
    return 0;
  }

  private keyMoving(event: KeyboardEvent, sheet: Sheet): boolean {
    const steps: Readonly<Record<string, readonly [number, number]>> = {
      ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1],
      PageUp: [-20, 0], PageDown: [20, 0], Home: [0, -99], End: [0, 99],
    };
    const step = steps[event.key];
    // In a row that is being typed Tab goes on to the next cell, and out of the table only from the last one.
    const isFresh = this.rows(sheet)[this.active.value.row]?.id === "";
    const across = event.key === "Tab" && isFresh ? this.acrossWorked(sheet, event.shiftKey ? -1 : 1) : 0;
    if (step) this.move(sheet, ...step);
    else if (across !== 0) this.move(sheet, 0, across);
    else if (event.key === "Enter" || event.key === "F2") this.edit(sheet, this.activeText(sheet));
    else if (event.key === "Delete" || event.key === "Backspace") this.edit(sheet, "");
    else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) this.edit(sheet, event.key);
    else return false;
    return true;
  }

  // Typing.

  private activeText(sheet: Sheet): string {
    const { row, column } = this.active.value;
    const found = this.rows(sheet)[row];
    const own = sheet.columns[column];
    return found && own ? cellText(own, found.values[own.key], this.setting) : "";
  }

  private edit(sheet: Sheet, text: string): void {
    const { row, column } = this.active.value;
    const key = sheet.columns[column]?.key ?? "";
    if (key in (this.rows(sheet)[row]?.fixed ?? {})) {
      notice.value = say("table.notHere");
      return;
    }
    this.typing.value = { text, fault: "" };
    this.focusSoon();
  }

  /** Take what was typed; false, with the fault beside it, when it cannot be taken. */
  private settle(sheet: Sheet): boolean {
    const draft = this.typing.value;
    if (draft === null) return true;
    const { row, column } = this.active.value;
    const own = sheet.columns[column] as Column;
    const found = this.rows(sheet)[row];
    if (!found || draft.text.trim() === cellText(own, found.values[own.key], this.setting)) {
      this.typing.value = null;
      return true;
    }
    let value: Json;
    try {
      value = cellValue(own, draft.text, this.setting);
    } catch (fault) {
      if (!(fault instanceof NotRead)) throw fault;
      this.typing.value = { ...draft, fault: fault.message };
      return false;
    }
    this.typing.value = null;
    if (found.id === "") this.grow(sheet, { ...found.values, [own.key]: value });
    else attempt(this.session, say("table.cellLabel", { column: own.label, id: found.id }), sheet.ops([{ id: found.id, values: { [own.key]: value } }], []));
    return true;
  }

  // Rows.

  private add(sheet: Sheet, below: string | null = null): void {
    batch(() => {
      this.fresh.value = this.fresh.value ?? {};
      this.below.value = below;
      const at = this.rows(sheet).findIndex(({ id }) => id === "");
      this.active.value = { row: at, column: Math.max(0, sheet.columns.findIndex(({ mayBeEmpty }) => !mayBeEmpty)) };
      this.page.value = Math.floor(at / PAGE);
    });
    this.focusSoon();
  }

  /** The new row has another cell; once it is whole it is a row of the job. */
  private grow(sheet: Sheet, values: Values): void {
    if (sheet.lacks(values)) this.fresh.value = values;
    else if (attempt(this.session, say("table.add"), sheet.ops([], [values], this.below.value))) this.fresh.value = null;
  }

  private remove(sheet: Sheet, id: string): void {
    if (id === "") {
      this.fresh.value = null;
      return;
    }
    const removal = sheet.removal(id);
    if (typeof removal === "string") notice.value = removal;
    else attempt(this.session, say("table.removeLabel", { id }), removal);
  }

  // Paste.

  private paste(event: ClipboardEvent, sheet: Sheet): void {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    const isTable = /[\t\n]/.test(text.trim());
    if (this.typing.value && !isTable) return;
    event.preventDefault();
    this.typing.value = null;
    if (!text.trim()) {
      notice.value = say("table.pasteNothing");
      return;
    }
    if (isTable || this.rows(sheet).length === 0) this.pasted.value = planned(sheet, this.active.value.row, this.active.value.column, text, this.setting);
    else this.edit(sheet, text.trim());
  }

  private preview(sheet: Sheet): Template {
    const pasted = this.pasted.value;
    if (pasted === null) return nothing;
    const width = Math.max(...pasted.rows.map((row) => row.cells.length));
    const take = (): void => {
      const ops = pasteOps(sheet, pasted);
      if (attempt(this.session, say("table.pasteLabel", { count: pasted.good }), ops)) this.pasted.value = null;
      this.focusSoon();
    };
    return html`<section class="paste" role="dialog" aria-label=${say("table.pasteTitle")}>
      <h2>${say("table.pasteTitle")}</h2>
      <p>${say("table.pasteSays", { rows: pasted.rows.length, first: this.active.value.row + 1, good: pasted.good, bad: pasted.bad })}</p>
      <p>
        <button type="button" class="primary" data-testid="paste-take" ?disabled=${pasted.good === 0} @click=${take}>${pasted.bad > 0 ? say("table.pasteTake") : say("table.pasteTakeAll")}</button>
        <button type="button" @click=${() => (this.pasted.value = null)}>${say("app.cancel")}</button>
      </p>
      <div class="wide">
        <table class="plain preview">
          <thead>
            <tr><th scope="col">${say("table.id")}</th>${(pasted.rows[0]?.cells ?? []).slice(0, width).map(({ column }) => html`<th scope="col">${column.label}</th>`)}</tr>
          </thead>
          <tbody>
            ${pasted.rows.slice(0, PAGE).map(
              (row) => html`<tr class=${row.fault ? "refused" : ""}>
                <th scope="row">${row.id ?? "+"}${row.fault ? html`<span class="fault">${row.fault}</span>` : nothing}</th>
                ${row.cells.map(
                  ({ column, text, value, fault }) => html`<td class=${fault ? "refused" : ""}>${fault ? text : cellText(column, value, this.setting)}${fault ? html`<span class="fault">${fault}</span>` : nothing}</td>`,
                )}
              </tr>`,
            )}
          </tbody>
        </table>
      </div>
    </section>`;
  }
}

function workedOf(sheet: Sheet): readonly Column[] {
  return sheet.columns.filter(({ worked }) => worked);
}

function unitWords({ holds, trade }: Column, shown: ShownUnits): string {
  if (typeof holds !== "string" || holds === "words" || holds === "yes or no") return "";
  const unit = trade ? tradeUnit(trade, shown) : unitOf(holds, shown);
  return unit === "ft-in" ? "ft in" : unit;
}
