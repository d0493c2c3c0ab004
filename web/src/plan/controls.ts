/** The words around the plan: what the hand does, how one looks at it, what is shown. */

import { html, nothing } from "lit";
import { choiceBox } from "../panels/boxes";
import { type Dispose, type Template, mountView } from "../panels/view";
import { shown } from "../format/shown";
import type { Session } from "../state/session";
import { units } from "../state/settings";
import { type ReadonlySignal, type Signal, signal } from "../state/signal";
import { TOOLS, isInRow, tool } from "../state/tool";
import { northArrow, scaleBar } from "./furniture";
import { say } from "./say";
import { DEEP_MUCK, SURE, UNSURE } from "./tints";
import { GROUNDS, LAYERS, type Shown } from "./shown-layers";
import { POND_STAGES, upliftStage } from "../state/water-shown";
import type { PlanView } from "./view";

export interface Seen {
  readonly resolution: number;
  readonly rotation: number;
}

/** Row of tools: arrows go from word to word, as in every toolbar. */
export function mountTools(host: HTMLElement): Dispose {
  const open = signal(false);
  const choose = (name: (typeof TOOLS)[number]): void => {
    tool.value = name;
    open.value = false;
  };
  return mountView(
    host,
    () => html`<button type="button" class="fold" aria-expanded=${open.value} data-testid="plan-tools" @click=${() => (open.value = !open.value)}>
        ${say("plan.toolNow", { tool: say(`plan.tool.${tool.value}`) })}
      </button>
      <div class="row ${open.value ? "open" : ""}" role="toolbar" aria-label=${say("plan.tools")} @keydown=${rove}>
        ${TOOLS.map(
          (name) => html`<button
            type="button"
            data-testid="tool-${name}"
            aria-pressed=${name === tool.value}
            tabindex=${name === (isInRow(tool.value) ? tool.value : "select") ? 0 : -1}
            @click=${() => choose(name)}
          >
            ${say(`plan.tool.${name}`)}
          </button>`,
        )}
      </div>`,
  );
}

function rove(event: KeyboardEvent): void {
  const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
  if (step === undefined) return;
  event.preventDefault();
  const buttons = [...(event.currentTarget as HTMLElement).querySelectorAll("button")];
  const at = buttons.indexOf(document.activeElement as HTMLButtonElement);
  buttons[(at + step + buttons.length) % buttons.length]?.focus();
}

export interface ViewWords {
  readonly planView: PlanView;
  readonly session: Session;
  readonly shown: Shown;
}

/** Zoom and layers, in the corner. */
export function mountCorner(host: HTMLElement, { planView, session, shown }: ViewWords): Dispose {
  const open: Signal<boolean> = signal(false);
  const atJob = (go: (job: NonNullable<typeof session.job.value>) => void) => (): void => {
    const job = session.shown.value;
    if (job) go(job);
  };
  return mountView(
    host,
    () => html`${open.value ? chooser(shown, planView) : nothing}
      <div class="buttons" role="group" aria-label=${say("plan.view")}>
        <button type="button" data-testid="zoom-in" @click=${() => planView.zoom(1)}>${say("plan.zoomIn")}</button>
        <button type="button" data-testid="zoom-out" @click=${() => planView.zoom(-1)}>${say("plan.zoomOut")}</button>
        <button type="button" data-testid="to-pond" @click=${atJob((job) => planView.toWater(job))}>${say("plan.toPond")}</button>
        <button type="button" data-testid="to-all" @click=${atJob((job) => planView.toAll(job))}>${say("plan.toAll")}</button>
        <button type="button" data-testid="layers" aria-expanded=${open.value} @click=${() => (open.value = !open.value)}>${say("plan.layersButton")}</button>
      </div>`,
  );
}

function chooser({ ground, layers }: Shown, planView: PlanView): Template {
  return html`<div class="chooser" role="group" aria-label=${say("plan.layers")} data-testid="layer-chooser">
    ${choiceBox({
      id: "plan-ground",
      label: say("plan.ground"),
      value: ground.value,
      of: GROUNDS.map((name) => [name, say(`plan.ground.${name}`)] as const),
      set: (name) => (ground.value = name),
    })}
    <p class="key">${say(`plan.key.${ground.value}`, keyValues())}</p>
    ${ground.value === "uplift"
      ? choiceBox({ id: "plan-uplift-stage", label: say("groundwater.upliftStage"), value: upliftStage.value, of: POND_STAGES.map((stage) => [stage, say(`groundwater.stage.${stage}`)] as const), set: (stage) => (upliftStage.value = stage) })
      : nothing}
    <div class="ticks">${LAYERS.map((name) => tick(`layer-${name}`, say(`plan.layer.${name}`), layers[name]))}</div>
    ${tick("plan-turn", say("plan.turn"), planView.turning)}
    ${planView.turning.value
      ? html`<div class="buttons">
          <button type="button" @click=${() => planView.turn(-1)}>${say("plan.turnLeft")}</button>
          <button type="button" @click=${() => planView.turn(1)}>${say("plan.turnRight")}</button>
          <button type="button" @click=${() => planView.turnBack()}>${say("plan.turnBack")}</button>
        </div>`
      : nothing}
  </div>`;
}

/** Numbers in the words of the key, in the units of the page. */
function keyValues(): Readonly<Record<string, string>> {
  return { good: shown(SURE, "length"), poor: shown(UNSURE, "length"), thick: shown(DEEP_MUCK, "length") };
}

function tick(id: string, words: string, value: Signal<boolean>): Template {
  return html`<label class="tick"
    ><input type="checkbox" data-testid=${id} .checked=${value.value} @change=${() => (value.value = !value.value)} /><span>${words}</span></label
  >`;
}

export function mountScale(host: HTMLElement, seen: ReadonlySignal<Seen>): Dispose {
  return mountView(host, () => scaleBar(seen.value.resolution, units.value));
}

export function mountNorth(host: HTMLElement, session: Session, seen: ReadonlySignal<Seen>): Dispose {
  return mountView(host, () => northArrow(seen.value.rotation + (session.job.value?.site.frame?.true_north ?? 0)));
}
