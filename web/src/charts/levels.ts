/** What each water level costs in soil; the balanced one is marked, and any can be taken with one press. */

import { type TemplateResult, html, nothing, render, svg } from "lit";
import { format, formatChange } from "../format/units";
import { say } from "../format/words";
import type { Session } from "../state/session";
import { heights, look, units } from "../state/settings";
import { drawn, rootIn } from "./drawn";
import { newest } from "./fields";
import { HeightHand } from "./hand";
import { type LevelRow, levelRows, rowNearest } from "./level-rows";
import { heightText, stationText } from "./picture";
import "./views.css";

const BAR = 64;

export function mountLevels(place: HTMLElement, session: Session): () => void {
  const host = rootIn(place);
  const hand = new HeightHand(session);
  const readField = newest("levels");
  session.want("levels", true, "levels");
  const stop = drawn(
    () => {
      void [units.value, heights.value, look.value];
      const bodies = session.shown.value?.shape.bodies ?? {};
      // The server tries the levels of the first body that is to be kept balanced, else of the first one.
      const body = Object.keys(bodies).find((id) => bodies[id]?.keep_balanced) ?? Object.keys(bodies)[0] ?? "";
      return {
        body,
        rows: levelRows(readField(session.frame.value)),
        now: body ? hand.value({ name: "level", body }) : null,
        balanced: session.figures.value["earth.balance.balanced_level"],
        waterLine: session.waterLine.value,
        fault: hand.fault.value,
      };
    },
    (model) => {
      render(levelsTemplate(model, (level) => hand.set({ name: "level", body: model.body }, level)), host);
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
  readonly rows: readonly LevelRow[];
  readonly now: number | null;
  readonly balanced: number | undefined;
  readonly waterLine: number | null;
  readonly fault: string;
}

function levelsTemplate(model: Model, take: (level: number) => void): TemplateResult {
  const { rows, now, balanced, waterLine } = model;
  if (rows.length === 0 || now === null) {
    return html`<section class="view chart-view"><h3>${say("chart.levels")}</h3><p class="view-none">${say("chart.levels.none")}</p></section>`;
  }
  const most = Math.max(...rows.map(({ surplus }) => Math.abs(surplus)), 1e-9);
  const nowRow = rowNearest(rows, now);
  const balancedRow = rowNearest(rows, balanced);
  const known = typeof balanced === "number";
  const isBalanced = (row: LevelRow): boolean => known && Math.abs(row.level - balanced) < 5e-4;
  return html`<section class="view chart-view" aria-label=${say("chart.levels")}>
    <header class="view-head"><h3>${say("chart.levels")}</h3>
      ${known ? html`<span class="view-tools"><button type="button" data-testid="take-balanced" ?disabled=${Math.abs(balanced - now) < 5e-4}
        @click=${() => take(balanced)}>${say("chart.takeWhich", { level: format(balanced, "elevation", units.value) })}</button></span>` : nothing}
    </header>
    ${model.fault ? html`<p class="wrong" role="alert">${say("job.cannot", { why: model.fault })}</p>` : nothing}
    <div class="twin" tabindex="0" role="group" aria-label=${say("chart.levels")}><table class="levels" data-testid="levels">
      <thead><tr>
        ${(["level", "dug", "placed", "surplus", "rim_to_raise"] as const).map((name) => html`<th scope="col">${say(`chart.${name}`)}</th>`)}
        <th><span class="unseen">${say("chart.take")}</span></th>
      </tr></thead>
      <tbody>${[...rows].reverse().map((row) => {
        const at = rows.indexOf(row);
        const here = Math.abs(row.level - now) < 5e-4;
        return html`<tr class=${[at === balancedRow ? "balanced" : "", at === nowRow ? "now" : ""].join(" ")}>
          <th scope="row">${heightText(row.level, waterLine)}
            ${at === nowRow ? html`<small>${say("chart.levels.nowRow")}</small>` : nothing}
            ${at === balancedRow ? html`<small class="balance-mark">${say(isBalanced(row) ? "chart.levels.balancedRow" : "chart.levels.nearBalance")}</small>` : nothing}</th>
          <td>${format(row.dug, "soil volume", units.value)}</td>
          <td>${format(row.placed, "soil volume", units.value)}</td>
          <td class="surplus">${surplusBar(row.surplus, most)}<span>${formatChange(row.surplus, "soil volume", units.value)}</span></td>
          <td>${stationText(row.rim_to_raise)}</td>
          <td><button type="button" ?disabled=${here} aria-label=${say("chart.takeWhich", { level: format(row.level, "elevation", units.value) })}
            @click=${() => take(row.level)}>${say("chart.takeShort")}</button></td>
        </tr>`;
      })}</tbody>
    </table></div>
    <p class="view-says">${say(known ? "chart.levels.balanced" : "chart.levels.unbalanced", {
      level: known ? format(balanced, "elevation", units.value) : "",
      now: format(now, "elevation", units.value),
    })}</p>
  </section>`;
}

/** Soil left over to the right in the colour of digging, soil missing to the left in that of placing. */
function surplusBar(surplus: number, most: number): TemplateResult {
  const length = (Math.abs(surplus) / most) * (BAR / 2 - 2);
  const x = surplus < 0 ? BAR / 2 - length : BAR / 2;
  return html`<svg width=${BAR} height="14" aria-hidden="true">${svg`
    <rect class=${surplus < 0 ? "missing" : "over"} x=${x.toFixed(1)} y="2" width=${length.toFixed(1)} height="10" />
    <line class="rule" x1=${BAR / 2} x2=${BAR / 2} y2="14" />`}</svg>`;
}
