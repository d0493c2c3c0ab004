/** The storage curve: how much water a body holds, and on what area, at each level. */

import { type TemplateResult, html, nothing, render } from "lit";
import UPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { type Kind, format, formatChange, inShownUnit } from "../format/units";
import { say } from "../format/words";
import { bodyShown } from "../panels/figures";
import type { Session } from "../state/session";
import { heights, look, units } from "../state/settings";
import { signal } from "../state/signal";
import { type Stored, curveOf } from "./curve-of-storage";
import { drawn, followSize, rootIn } from "./drawn";
import { newestOfBodies } from "./fields";
import { HeightHand } from "./hand";
import { HeightBox } from "./height-box";
import { type Ink, inkOf } from "./ink";
import { heightText } from "./picture";
import { mountLevels } from "./levels";
import { twinTable } from "./twin";
import "./views.css";

const LEAST_SIZE = 100;
const LEVEL_DIGITS = { metric: 2, us: 1, us_inch: 0 } as const;

/** The storage curve, and beside it what each level costs in soil. */
export function mountStorageChart(host: HTMLElement, session: Session): () => void {
  const pair = rootIn(host);
  pair.classList.add("pair");
  const disposals = [new StorageChart(pair, session).dispose, mountLevels(pair, session), () => pair.remove()];
  return () => disposals.forEach((dispose) => dispose());
}

interface Model {
  readonly body: string;
  readonly name: string;
  readonly curve: readonly Stored[];
  readonly level: number | null;
  readonly volume: number | undefined;
  readonly area: number | undefined;
  readonly waterLine: number | null;
  readonly width: number;
  readonly height: number;
  readonly asTable: boolean;
  readonly look: string;
  readonly fault: string;
}

class StorageChart {
  private readonly hand: HeightHand;
  private readonly box: HeightBox;
  private readonly readField = newestOfBodies("storage");
  private readonly size = signal({ width: 0, height: 0 });
  private readonly asTable = signal(false);
  private readonly redraw = signal(0);
  private plot: UPlot | null = null;
  private plotKey = "";
  private model: Model | null = null;
  private range: [number, number] = [0, 1];
  /** Height from which the axis counts; it stands still under the hand. */
  private zero: number | null = null;
  private followed: Element | null = null;
  private stopSize: () => void = () => undefined;
  private readonly stop: () => void;

  private readonly host: HTMLElement;

  constructor(
    place: HTMLElement,
    private readonly session: Session,
  ) {
    this.host = rootIn(place);
    this.hand = new HeightHand(session);
    this.box = new HeightBox(this.hand, () => void (this.redraw.value += 1));
    session.want("storage", true, "storage");
    this.stop = drawn(() => this.read(), (model) => this.draw(model));
  }

  readonly dispose = (): void => {
    this.stop();
    this.stopSize();
    this.plot?.destroy();
    this.hand.dispose();
    this.session.want("storage", false, "storage");
    this.host.remove();
  };

  private read(): Model {
    const { session } = this;
    void [units.value, heights.value, this.redraw.value, this.hand.held.value];
    const bodies = session.shown.value?.shape.bodies ?? {};
    const body = bodyShown(session) ?? "";
    const figures = session.figures.value;
    const stem = `shape.storage.bodies.${body}`;
    return {
      body,
      name: bodies[body]?.name || body,
      curve: curveOf(this.readField(session.frame.value), body),
      level: body ? this.hand.value({ name: "level", body }) : null,
      volume: figures[`${stem}.volume`],
      area: figures[`shape.shore.bodies.${body}.area`],
      waterLine: session.waterLine.value,
      ...this.size.value,
      asTable: this.asTable.value,
      look: look.value,
      fault: this.hand.fault.value,
    };
  }

  private draw(model: Model): void {
    this.model = model;
    render(this.template(model), this.host);
    const stage = this.host.querySelector(".chart-stage");
    if (stage !== this.followed) {
      this.stopSize();
      this.plot?.destroy();
      this.plot = null;
      this.followed = stage;
      if (stage) this.stopSize = followSize(stage, (width, height) => void (this.size.value = { width, height }));
    }
    if (stage) this.drawPlot(stage.querySelector(".plot") as HTMLElement, model);
  }

  private template(model: Model): TemplateResult {
    const { body, level, curve, asTable } = model;
    if (curve.length === 0 || level === null) {
      return html`<section class="view chart-view"><h3>${say("chart.storage")}</h3><p class="view-none">${say("chart.storage.none")}</p></section>`;
    }
    const text = format(level, "elevation", units.value);
    const grip = { name: "level", body } as const;
    const held = this.hand.held.value;
    return html`<section class="view chart-view" aria-label=${say("chart.storage")}>
      <header class="view-head">
        <h3>${say("chart.storage")}</h3>
        ${this.box.template(grip, say("shore.level"), text)}
        <span class="view-tools">
          <span class="view-key"><i class="stroke volume"></i>${say("chart.volume")}<i class="stroke area"></i>${say("chart.area")}</span>
          <button type="button" aria-pressed=${asTable} data-testid="storage-table" @click=${() => void (this.asTable.value = !asTable)}>
            ${say(asTable ? "chart.asPicture" : "chart.asTable")}</button>
        </span>
      </header>
      ${model.fault ? html`<p class="wrong" role="alert">${say("job.cannot", { why: model.fault })}</p>` : nothing}
      ${asTable ? twinTable(tableOf(model)) : html`<div class="chart-stage" data-testid="storage">
        <div class="plot" aria-hidden="true"></div>
        <div class="level-handle" tabindex="0" role="slider" aria-orientation="vertical" aria-label=${say("shore.level")}
          aria-valuenow=${level} aria-valuemin=${curve[0]?.level ?? level} aria-valuemax=${curve.at(-1)?.level ?? level} aria-valuetext=${text}
          title=${say("shore.gripHint", { name: say("shore.level") })} data-testid="grip-level"
          @pointerdown=${(event: PointerEvent) => this.press(event)} @keydown=${(event: KeyboardEvent) => this.hand.key(event, grip)}>
          <span>${text} ${held ? html`<small>${formatChange(held.value - held.start, "length", units.value)}</small>` : nothing}</span></div>
      </div>`}
      <p class="view-says">${summary(model)}</p>
    </section>`;
  }

  private press(event: PointerEvent): void {
    if (!this.plot || !this.model) return;
    const [low, high] = this.range;
    const metres = (high - low) / inShownUnit(1, "elevation", units.value);
    const perPixel = metres / (this.plot.bbox.height / devicePixelRatio);
    this.hand.press(event, event.currentTarget as Element, { name: "level", body: this.model.body }, perPixel);
  }

  private drawPlot(into: HTMLElement, model: Model): void {
    const { width, height } = model;
    if (width < LEAST_SIZE || height < LEAST_SIZE) return;
    if (!this.hand.held.value) {
      this.zero = heights.value === "water" ? model.waterLine : null;
      this.range = rangeOf(model, this.zero ?? 0);
    }
    const data = dataOf(model, this.zero ?? 0);
    // Tokens, units and zero are fixed in a plot; a change of one of them asks for a new one.
    const key = `${model.look} ${units.value} ${heights.value} ${this.zero ?? ""}`;
    if (this.plot === null || key !== this.plotKey) {
      this.plot?.destroy();
      this.plot = new UPlot(this.options(width, height, inkOf(this.host)), data, into);
      this.plotKey = key;
    } else {
      if (this.plot.width !== width || this.plot.height !== height) this.plot.setSize({ width, height });
      this.plot.setData(data);
    }
  }

  private options(width: number, height: number, ink: Ink): UPlot.Options {
    const font = `13px ${getComputedStyle(this.host).fontFamily}`;
    const axis = { stroke: ink.muted, font, labelFont: font, grid: { stroke: ink.hair, width: 1 }, ticks: { stroke: ink.rule, width: 1, size: 5 } };
    const values = (kind: Kind) => (_plot: UPlot, splits: number[]) => splits.map((split) => format(split / inShownUnit(1, kind, units.value), kind, units.value, { digits: 0 }));
    return {
      width,
      height,
      padding: [8, 24, 0, 0],
      legend: { show: false },
      cursor: { show: false },
      scales: {
        x: { time: false, ori: 1, dir: 1, range: () => this.range },
        volume: { ori: 0, range: (_plot, _low, high) => [0, high || 1] },
        area: { ori: 0, range: (_plot, _low, high) => [0, high || 1] },
      },
      series: [
        {},
        { scale: "volume", stroke: ink.shore, width: 2.5, points: { show: false } },
        { scale: "area", stroke: ink.ink, width: 1.5, dash: [7, 4], points: { show: false } },
      ],
      axes: [
        { ...axis, scale: "x", side: 3, size: 96, space: 28, values: (_plot, splits) => splits.map((split) => this.levelText(split)) },
        { ...axis, scale: "volume", side: 2, size: 30, space: 110, values: values("volume"), stroke: ink.shore },
        { ...axis, scale: "area", side: 0, size: 30, space: 110, values: values("area"), grid: { show: false }, stroke: ink.ink },
      ],
      hooks: { draw: [(plot) => this.drawLevel(plot, ink)] },
    };
  }

  private levelText(shown: number): string {
    return heightText(shown / inShownUnit(1, "elevation", units.value) + (this.zero ?? 0), this.zero, LEVEL_DIGITS[units.value]);
  }

  /** The level as a line on the canvas, and the handle that lies at its end. */
  private drawLevel(plot: UPlot, ink: Ink): void {
    const { model } = this;
    if (!model || model.level === null) return;
    const shown = inShownUnit(model.level - (this.zero ?? 0), "elevation", units.value);
    const y = plot.valToPos(shown, "x", true);
    const { ctx, bbox } = plot;
    ctx.save();
    ctx.strokeStyle = ink.shore;
    ctx.setLineDash([]);
    ctx.lineWidth = 3 * devicePixelRatio;
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.restore();
    const handle = this.host.querySelector<HTMLElement>(".level-handle");
    if (!handle) return;
    handle.style.top = `${y / devicePixelRatio}px`;
    handle.style.left = `${bbox.left / devicePixelRatio}px`;
    handle.style.width = `${bbox.width / devicePixelRatio}px`;
  }
}

function dataOf({ curve }: Model, zero: number): UPlot.AlignedData {
  return [
    curve.map(({ level }) => inShownUnit(level - zero, "elevation", units.value)),
    curve.map(({ volume }) => inShownUnit(volume, "volume", units.value)),
    curve.map(({ area }) => inShownUnit(area, "area", units.value)),
  ];
}

function rangeOf({ curve, level }: Model, zero: number): [number, number] {
  const levels = [curve[0]?.level ?? 0, curve.at(-1)?.level ?? 1, level ?? curve[0]?.level ?? 0];
  const [low, high] = [Math.min(...levels), Math.max(...levels)];
  const room = 0.04 * (high - low);
  return [inShownUnit(low - zero, "elevation", units.value), inShownUnit(high + room - zero, "elevation", units.value)];
}

function summary({ name, curve, level, volume, area, waterLine }: Model): string {
  const top = curve.at(-1);
  if (!top || level === null) return "";
  const lip = heightText(top.level, waterLine);
  if (volume === undefined || area === undefined) {
    return say("chart.storage.plain", { name, most: format(top.volume, "volume", units.value), top: lip });
  }
  return say("chart.storage.says", {
    name,
    level: format(level, "elevation", units.value),
    volume: format(volume, "volume", units.value),
    area: format(area, "area", units.value),
    top: lip,
  });
}

function tableOf({ curve, waterLine }: Model) {
  const every = Math.max(1, Math.ceil(curve.length / 30));
  return {
    caption: say("chart.storage"),
    columns: [say("chart.level"), say("chart.volume"), say("chart.area")],
    rows: curve
      .filter((_, at) => at % every === 0 || at === curve.length - 1)
      .map(({ level, volume, area }) => [
        heightText(level, waterLine),
        format(volume, "volume", units.value),
        format(area, "area", units.value),
      ]),
  };
}
