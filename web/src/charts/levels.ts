/** The level question of a body: what each water level costs and holds; any level is taken with one press. */

import { type TemplateResult, html, nothing, render, svg } from "lit";
import type { Body, Job } from "../api/types";
import { format, formatChange } from "../format/units";
import { say } from "../format/words";
import { choiceBox, tickBox } from "../panels/boxes";
import { attempt, setOps } from "../state/changes";
import { bodyShown } from "../panels/figures";
import { bodyInHand } from "../state/desk";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { heights, look, units } from "../state/settings";
import { drawn, rootIn } from "./drawn";
import { newestOfBodies } from "./fields";
import { HeightHand } from "./hand";
import { type LevelColumn, type LevelRow, type Said, levelRows, reasons, rowNearest, saidOf, tableOfBody } from "./level-rows";
import { heightText, stationText } from "./picture";
import "./views.css";

const BAR = 64;
const SAME = 5e-4; // metres
const COLUMNS = ["level", "lip", "surplus", "dug", "placed", "loads", "rim_to_raise", "highest_raise", "liner", "volume", "area", "filled_volume"] as const satisfies readonly LevelColumn[];

/** Half of the columns, for where all of them have no room; the others stand in both. */
type Part = "costs" | "holds";
const PART_OF: Readonly<Partial<Record<LevelColumn, Part>>> = {
  surplus: "costs", dug: "costs", placed: "costs", loads: "costs", rim_to_raise: "costs", highest_raise: "costs", liner: "costs",
  volume: "holds", area: "holds", filled_volume: "holds",
};
const partShown: Signal<Part> = signal<Part>("costs");

export function mountLevels(place: HTMLElement, session: Session): () => void {
  const host = rootIn(place);
  const hand = new HeightHand(session);
  const readFields = newestOfBodies("levels");
  session.want("levels", true, "levels");
  const stop = drawn(
    () => {
      void [units.value, heights.value, look.value];
      const job = session.shown.value;
      const body = bodyShown(session) ?? "";
      const table = tableOfBody(readFields(session.frame.value), body);
      return {
        job,
        body,
        rows: levelRows(table),
        said: saidOf(table),
        now: body ? hand.value({ name: "level", body }) : null,
        balanced: session.figures.value[`earth.levels.bodies.${body}.balanced_level`],
        offered: session.figures.value[`earth.levels.bodies.${body}.offered_level`],
        waterLine: session.waterLine.value,
        fault: hand.fault.value,
        part: partShown.value,
      };
    },
    (model) => {
      const take = (level: number): void => hand.set({ name: "level", body: model.body }, level);
      const keep = (on: boolean): void => void (model.job && attempt(session, say("shape.balance"), setOps(model.job, ["shape", "bodies", model.body, "keep_balanced"], on)));
      render(levelsTemplate(model, { take, keep }), host);
      showNow(host, model.now);
    },
  );
  return () => {
    stop();
    hand.dispose();
    session.want("levels", false, "levels");
    host.remove();
  };
}

const shownFor = new WeakMap<HTMLElement, number | null>();

/** Bring the level of now to the middle of the table when it has changed, without moving the page. */
function showNow(host: HTMLElement, now: number | null): void {
  const row = host.querySelector<HTMLElement>("tr.now");
  const frame = host.querySelector<HTMLElement>(".twin");
  if (!row || !frame || shownFor.get(host) === now) return;
  shownFor.set(host, now);
  frame.scrollTop = row.offsetTop - (frame.clientHeight - row.offsetHeight) / 2;
}

interface Model {
  readonly job: Job | null;
  readonly body: string;
  readonly rows: readonly LevelRow[];
  readonly said: Said;
  readonly now: number | null;
  readonly balanced: number | undefined;
  readonly offered: number | undefined;
  readonly waterLine: number | null;
  readonly fault: string;
  readonly part: Part;
}

interface Acts {
  take(level: number): void;
  keep(on: boolean): void;
}

function levelsTemplate(model: Model, acts: Acts): TemplateResult {
  const { job, body, rows, now, balanced, offered, said } = model;
  if (job === null || rows.length === 0 || now === null) {
    return html`<section class="view chart-view"><h3>${say("chart.levels")}</h3><p class="view-none">${say("chart.levels.none")}</p></section>`;
  }
  const known = typeof balanced === "number";
  return html`<section class="view chart-view" aria-label=${say("chart.levels")}>
    <header class="view-head"><h3>${say("chart.levels")}</h3>
      ${bodyChoice(job.shape.bodies ?? {}, body)}
      <span class="level-parts" role="group" aria-label=${say("chart.levels.part")}>${(["costs", "holds"] as const).map((part) => html`<button type="button" data-testid="levels-${part}"
        aria-pressed=${model.part === part} @click=${() => void (partShown.value = part)}>${say(`chart.levels.${part}`)}</button>`)}</span>
      ${tickBox({ id: "levels-keep-balanced", label: say("shape.balance"), value: job.shape.bodies?.[body]?.keep_balanced ?? false, set: acts.keep })}
      ${known && typeof offered === "number" ? html`<span class="view-tools"><button type="button" data-testid="take-balanced" ?disabled=${Math.abs(offered - now) < SAME}
        @click=${() => acts.take(offered)}>${say("chart.takeWhich", { level: format(offered, "elevation", units.value) })}</button></span>` : nothing}
    </header>
    ${known && (said.refused || said.warned) ? html`<p class="view-says level-against" data-testid="balanced-against">${say(said.refused ? "chart.levels.refused" : "chart.levels.warned", { level: format(balanced, "elevation", units.value), why: said.refused || said.warned })}</p>` : nothing}
    ${model.fault ? html`<p class="wrong" role="alert">${say("job.cannot", { why: model.fault })}</p>` : nothing}
    ${table(model, now, acts)}
    <p class="view-says">${say(known ? "chart.levels.balanced" : "chart.levels.unbalanced", {
      level: known ? format(balanced, "elevation", units.value) : "",
      now: format(now, "elevation", units.value),
    })}</p>
    ${reasons(rows).map(([why, levels]) => html`<p class="view-says level-against">${say("chart.levels.against", { levels: levels.map((level) => format(level, "elevation", units.value)).join(", "), why })}</p>`)}
    ${othersTold(rows)}
  </section>`;
}

/** What else fills trucks than the fill that is left over, with the levels. */
function othersTold(rows: readonly LevelRow[]): TemplateResult | typeof nothing {
  const told = rows.filter(({ others_leave, loads }) => others_leave > 0 && loads > 0).map(({ others_leave, level }) => say("chart.levels.otherAt", { volume: format(others_leave, "soil volume", units.value), level: format(level, "elevation", units.value) }));
  return told.length === 0 ? nothing : html`<p class="view-says" data-testid="levels-others">${say("chart.levels.others", { told: told.join(", ") })}</p>`;
}

function bodyChoice(bodies: Readonly<Record<string, Body>>, body: string): TemplateResult | typeof nothing {
  const all = Object.entries(bodies);
  if (all.length < 2) return nothing;
  return choiceBox({ id: "levels-body", label: say("shape.body"), value: body, of: all.map(([id, row]) => [id, row.name || id] as const), set: (id) => (bodyInHand.value = id) }) as TemplateResult;
}

function table({ rows, waterLine, said, part }: Model, now: number, acts: Acts): TemplateResult {
  const most = Math.max(...rows.map(({ surplus }) => Math.abs(surplus)), 1e-9);
  const nowRow = rowNearest(rows, now);
  return html`<div class="twin" tabindex="0" role="group" aria-label=${say("chart.levels")}><table class="levels ${part}" data-testid="levels">
    <thead><tr>
      ${COLUMNS.map((name) => html`<th scope="col" class=${partClass(name)}>${say(`chart.${name}`)}</th>`)}
    </tr></thead>
    <tbody>${[...rows].reverse().map((row) => {
      const isNow = rows.indexOf(row) === nowRow;
      const here = Math.abs(row.level - now) < SAME;
      const refused = row.balanced && said.refused !== "";
      const take = say("chart.takeWhich", { level: format(row.level, "elevation", units.value) });
      return html`<tr class=${[row.balanced ? "balanced" : "", isNow ? "now" : ""].join(" ")} data-level=${row.level}>
        <th scope="row">
          <button type="button" ?disabled=${here || refused} aria-label=${row.says ? `${take}: ${row.says}` : take} title=${row.says}
            @click=${() => acts.take(row.level)}>${heightText(row.level, waterLine)}</button>
          ${isNow ? html`<small>${say("chart.levels.nowRow")}</small>` : nothing}
          ${row.balanced ? html`<small class="balance-mark">${say("chart.levels.balancedRow")}</small>` : nothing}
          ${against(row)}</th>
        <td>${format(row.lip, "elevation", units.value)}</td>
        <td class="surplus ${partClass("surplus")}">${surplusBar(row.surplus, most)}<span>${formatChange(row.surplus, "soil volume", units.value)}</span></td>
        <td class=${partClass("dug")}>${format(row.dug, "soil volume", units.value)}</td>
        <td class=${partClass("placed")}>${format(row.placed, "soil volume", units.value)}</td>
        <td class=${partClass("loads")}>${format(row.loads, "count", units.value)}</td>
        <td class=${partClass("rim_to_raise")}>${stationText(row.rim_to_raise)}</td>
        <td class=${partClass("highest_raise")}>${format(row.highest_raise, "length", units.value)}</td>
        <td class=${partClass("liner")}>${format(row.liner, "area", units.value)}</td>
        <td class=${partClass("volume")}>${format(row.volume, "volume", units.value)}</td>
        <td class=${partClass("area")}>${format(row.area, "area", units.value)}</td>
        <td class=${partClass("filled_volume")}>${format(row.filled_volume, "volume", units.value)}${row.filled_runs_over ? mark(say("chart.levels.runsOver")) : nothing}</td>
      </tr>`;
    })}</tbody>
  </table></div>`;
}

function partClass(name: LevelColumn): string {
  const part = PART_OF[name];
  return part ? `of-${part}` : "";
}

/** Whether the water of a row runs over, or what else would stop the job there, in two words. */
function against(row: LevelRow): TemplateResult | typeof nothing {
  if (row.runs_over) return mark(say("chart.levels.runsOver"));
  return row.says ? mark(say("chart.levels.stops")) : nothing;
}

const mark = (text: string): TemplateResult => html`<small class="over-mark">${text}</small>`;

/** Soil left over to the right in the colour of digging, soil missing to the left in that of placing. */
function surplusBar(surplus: number, most: number): TemplateResult {
  const length = (Math.abs(surplus) / most) * (BAR / 2 - 2);
  const x = surplus < 0 ? BAR / 2 - length : BAR / 2;
  return html`<svg width=${BAR} height="14" aria-hidden="true">${svg`
    <rect class=${surplus < 0 ? "missing" : "over"} x=${x.toFixed(1)} y="2" width=${length.toFixed(1)} height="10" />
    <line class="rule" x1=${BAR / 2} x2=${BAR / 2} y2="14" />`}</svg>`;
}
