/** The section: a live cut through old ground, finish, subgrade and water. */

import { type SVGTemplateResult, type TemplateResult, html, nothing, render, svg } from "lit";
import type { Job, SectionLine } from "../api/types";
import { areasBetween } from "../charts/areas";
import { drawn, followSize, rootIn } from "../charts/drawn";
import { newest } from "../charts/fields";
import { HeightHand } from "../charts/hand";
import { HeightBox } from "../charts/height-box";
import { type Box, type ShownGrip, gripHandle, hatches, heightAxis, heightText, lengthAxis, pathOf, pixels, stationText } from "../charts/picture";
import { type Scale, type Span, exaggeration, pixelOf, pixelsPerUnit, roomy, shortFactor, spread, valueAt } from "../charts/scale";
import { twinTable } from "../charts/twin";
import "../charts/views.css";
import "./water.css";
import { format, formatChange } from "../format/units";
import { say } from "../format/words";
import type { SitePoint } from "../geometry/types";
import { keptSection, pointed, sectionLine } from "../plan/mark";
import { type Ring, ringsOf, sampledRing } from "../plan/rings";
import { bodyInHand } from "../state/desk";
import type { Session } from "../state/session";
import { heights, look, units } from "../state/settings";
import { effect, signal, untracked } from "../state/signal";
import { keptPart, lineOf, sectionsOf } from "./kept";
import { deepestPlace, inside, longSection } from "./long-axis";
import { type CutPlace, heightsOf, linedRuns, placeOn, placesOf, stationAlong, stationSpan, waterRuns } from "./profile";

const NEAR_LINE = 2;
const LEAST_HEIGHT = 1;
/** Height over the water at which a liner usually ends [m]; stretches that end elsewhere stand in the shore unrolled. */
const LINER_OVER = 0.1;
const ROWS_IN_TABLE = 40;
/** A picture that is less wide has no room for names on its grips [px]. */
const NARROW = 640;
/** A letter on a grip is so wide on average [px]. */
const LETTER = 7.2;

export function mountSection(host: HTMLElement, session: Session): () => void {
  return new SectionView(host, session).dispose;
}

interface Grip {
  readonly body: string;
  readonly name: string;
  /** What is written on it, where there is width for it. */
  readonly label: string;
  readonly level: number;
  readonly text: string;
}

interface Model {
  readonly places: readonly CutPlace[];
  readonly grips: readonly Grip[];
  readonly width: number;
  readonly height: number;
  readonly heights: Span;
  readonly mark: number | null;
  readonly waterLine: number | null;
  readonly isDefault: boolean;
  readonly job: Job | null;
  readonly asTable: boolean;
  readonly fault: string;
}

interface Frame {
  readonly box: Box;
  readonly across: Scale;
  readonly up: Scale;
}

class SectionView {
  private readonly hand: HeightHand;
  private readonly boxes = new Map<string, HeightBox>();
  private readonly readField = newest("section");
  private readonly readDepth = newest("depth");
  private readonly size = signal({ width: 0, height: 0 });
  private readonly asTable = signal(false);
  private readonly redraw = signal(0);
  /** The line that this view has laid itself. */
  private laid: readonly SitePoint[] | null = null;
  private asked: readonly SitePoint[] | null = null;
  /** Row of the kept section that is cut. */
  private keptRow: SectionLine | undefined;
  private heldHeights: Span | null = null;
  private last: { model: Model; frame: Frame } | null = null;
  private followed: Element | null = null;
  private stopSize: () => void = () => undefined;
  private readonly stops: readonly (() => void)[];

  private readonly host: HTMLElement;

  constructor(
    place: HTMLElement,
    private readonly session: Session,
  ) {
    this.host = rootIn(place);
    this.hand = new HeightHand(session);
    session.want("depth", true, "section");
    this.stops = [effect(() => this.followKept()), effect(() => this.layLine()), effect(() => this.askForLine()), drawn(() => this.model(), (model) => this.draw(model))];
  }

  readonly dispose = (): void => {
    for (const stop of this.stops) stop();
    this.stopSize();
    this.hand.dispose();
    this.session.want("depth", false, "section");
    if (sectionLine.value === this.laid) sectionLine.value = null;
    keptSection.value = null;
    this.session.section(null);
    if (pointed.value?.from === "section") pointed.value = null;
    this.host.remove();
  };

  /** A kept section is cut where its row has it, also after an undo; without its row the line is nobody's. */
  private followKept(): void {
    const id = keptSection.value;
    const row = id === null ? undefined : sectionsOf(this.session.job.value)[id];
    if (row === this.keptRow) return;
    this.keptRow = row;
    untracked(() => {
      if (row) sectionLine.value = lineOf(row);
      else keptSection.value = null;
    });
  }

  /** Cut along the water while nobody has drawn a line; follow the shore when it is not being moved. */
  private layLine(): void {
    const frame = this.session.frame.value;
    const depth = this.readDepth(frame);
    const drawnLine = sectionLine.value;
    if ((drawnLine !== null && drawnLine !== this.laid) || this.session.preview.value !== null) return;
    const job = this.session.job.value;
    const rings = job ? ringsOf(job).filter((ring) => ring.ring === "outer" && !ring.open) : [];
    const grid = frame?.header.grid ?? null;
    const deepest = depth && grid && depth.shape[1] === grid.columns ? deepestPlace(depth, grid) : null;
    const ring = deepest ? rings.find((one) => inside(pointsOf(one), deepest)) ?? rings[0] : rings[0];
    const line = ring ? longSection(pointsOf(ring), deepest) : null;
    if (same(line, this.laid) && drawnLine !== null) return;
    untracked(() => {
      this.laid = line;
      sectionLine.value = line;
    });
  }

  private askForLine(): void {
    const line = sectionLine.value;
    if (line === null || same(line, this.asked)) return;
    this.asked = line;
    untracked(() => this.session.section(line));
  }

  private model(): Model {
    const { session } = this;
    void [units.value, heights.value, look.value, this.redraw.value, keptSection.value];
    const job = session.shown.value;
    const places = placesOf(this.readField(session.frame.value));
    const grips = job ? this.gripsOn(job, places) : [];
    const held = this.hand.held.value;
    // The scale stands still under the hand, or the line would run away from it.
    const span = (held && this.heldHeights) || tenths(roomy([...heightsOf(places), ...grips.map(({ level }) => level)], LEAST_HEIGHT));
    this.heldHeights = span;
    return {
      places,
      grips,
      ...this.size.value,
      heights: span,
      mark: markOn(places),
      waterLine: session.waterLine.value,
      isDefault: sectionLine.value === this.laid,
      job,
      asTable: this.asTable.value,
      fault: this.hand.fault.value,
    };
  }

  /** The bodies whose water stands on the section; else the body in hand. */
  private gripsOn(job: Job, places: readonly CutPlace[]): Grip[] {
    const { figures } = this.session;
    const all = Object.entries(job.shape.bodies ?? {});
    const levels = waterRuns(places).map(({ level }) => level);
    // Water comes as 32-bit numbers from the same frame as the figures.
    const cut = all.filter(([id]) => levels.some((level) => Math.abs(level - (figures.value[`shape.shore.bodies.${id}.level`] ?? Infinity)) < 2e-3));
    const shown = cut.length > 0 ? cut : all.filter(([id]) => id === bodyInHand.value || all.length === 1).slice(0, 1);
    return shown.flatMap(([body, row]) => {
      const level = this.hand.value({ name: "level", body });
      if (level === null) return [];
      const [text, called] = [format(level, "elevation", units.value), row.name || body];
      if (shown.length === 1) return [{ body, level, name: say("shore.level"), label: `${say("shore.level")} ${text}`, text }];
      return [{ body, level, name: `${say("shore.level")}, ${called}`, label: `${called} ${text}`, text }];
    });
  }

  private draw(model: Model): void {
    render(this.template(model), this.host);
    const stage = this.host.querySelector(".strip-stage");
    if (stage === this.followed) return;
    this.stopSize();
    this.followed = stage;
    if (stage) this.stopSize = followSize(stage, (width, height) => void (this.size.value = { width, height }));
  }

  private template(model: Model): TemplateResult {
    if (model.places.length < 2) return html`<section class="view section-view"><p class="view-none">${say("section.none")}</p></section>`;
    const frame = frameOf(model);
    this.last = { model, frame };
    return html`<section class="view section-view" aria-label=${say("below.section")}>
      ${this.head(model, frame)}
      ${model.fault ? html`<p class="wrong" role="alert">${say("job.cannot", { why: model.fault })}</p>` : nothing}
      ${model.asTable ? twinTable(tableOf(model)) : this.stage(model, frame)}
      <p class="view-says">${summary(model)}</p>
    </section>`;
  }

  private head(model: Model, frame: Frame): TemplateResult {
    const held = this.hand.held.value;
    return html`<header class="view-head">
      ${model.grips.map(({ body, name, text }) => this.boxOf(body).template({ name: "level", body }, name, text))}
      <output class="view-change">${held ? formatChange(held.value - held.start, "length", units.value) : nothing}</output>
      <span class="view-tools">
        <span class="view-key"><i class="swatch dig"></i>${say("section.dig")}<i class="swatch raise"></i>${say("section.raise")}</span>
        ${model.asTable ? nothing : html`<span class="view-note">${say("shore.exaggeration", { factor: shortFactor(exaggeration(frame.across, frame.up)) })}</span>`}
        ${model.isDefault ? nothing : html`<button type="button" @click=${this.toDefault}>${say("section.toDefault")}</button>`}
        ${model.job ? keptPart(this.session, model.job) : nothing}
        <button type="button" aria-pressed=${model.asTable} data-testid="section-table" @click=${() => void (this.asTable.value = !model.asTable)}>
          ${say(model.asTable ? "shore.asPicture" : "shore.asTable")}</button>
      </span>
    </header>`;
  }

  private boxOf(body: string): HeightBox {
    const known = this.boxes.get(body) ?? new HeightBox(this.hand, () => void (this.redraw.value += 1));
    this.boxes.set(body, known);
    return known;
  }

  private readonly toDefault = (): void => {
    keptSection.value = null;
    sectionLine.value = null;
  };

  private stage(model: Model, frame: Frame): TemplateResult {
    const { width, height } = model;
    const { box } = frame;
    return html`<div class="strip-stage">
      ${width < 160 || height < 90 ? nothing : html`<svg width=${width} height=${height} role="group" aria-label=${say("section.picture")} data-testid="section"
          @pointermove=${this.hover} @pointerleave=${this.leave} @pointerdown=${this.press}>
        <rect class="walk" x=${box.left} y=${box.top} width=${Math.max(0, box.right - box.left)} height=${Math.max(0, box.bottom - box.top)}
          tabindex="0" role="slider" aria-label=${say("section.walk")} aria-valuemin="0" aria-valuemax=${frame.across.values[1]}
          aria-valuenow=${model.mark ?? 0} aria-valuetext=${readingAt(model, model.mark ?? 0)} @keydown=${this.walkKey} />
        ${picture(model, frame, this.hand)}
      </svg>`}
    </div>`;
  }

  private point(station: number): void {
    const place = this.last && placeOn(this.last.model.places, station);
    if (place) pointed.value = { east: place.point[0], north: place.point[1], from: "section" };
  }

  private readonly hover = (event: PointerEvent): void => {
    if (!this.last || this.hand.held.value) return;
    const { box, across } = this.last.frame;
    const [x] = placeOf(event);
    if (x < box.left || x > box.right) return this.leave();
    this.point(valueAt(across, x));
    (event.currentTarget as Element).classList.toggle("on-line", this.gripNear(event) !== null);
  };

  private readonly leave = (): void => {
    if (pointed.value?.from === "section") pointed.value = null;
  };

  private gripNear(event: PointerEvent): Grip | null {
    if (!this.last) return null;
    const { model, frame } = this.last;
    const [x, y] = placeOf(event);
    if (x < frame.box.left || x > frame.box.right) return null;
    const reach = event.pointerType === "touch" ? 18 : 7;
    return model.grips.find(({ level }) => Math.abs(pixelOf(frame.up, level) - y) <= reach) ?? null;
  }

  private readonly press = (event: PointerEvent): void => {
    if (!this.last || event.defaultPrevented || event.button > 0) return;
    const grip = this.gripNear(event);
    const target = event.currentTarget as Element;
    if (grip) this.hand.press(event, target, { name: "level", body: grip.body }, 1 / pixelsPerUnit(this.last.frame.up));
    else if (event.pointerType === "touch") this.hover(event);
  };

  private readonly walkKey = (event: KeyboardEvent): void => {
    if (!this.last) return;
    const { model, frame } = this.last;
    const [first, last] = frame.across.values;
    const step = (event.shiftKey ? 10 : 1) * (units.value === "metric" ? 0.25 : 0.3048);
    const now = model.mark ?? first;
    const stations: Readonly<Record<string, number>> = { ArrowRight: now + step, ArrowLeft: now - step, Home: first, End: last };
    const [grip] = model.grips;
    if (event.key in stations) this.point(Math.min(Math.max(stations[event.key] as number, first), last));
    else if (!grip || !this.hand.key(event, { name: "level", body: grip.body })) return;
    event.preventDefault();
  };
}

function frameOf({ width, height, places, grips, heights: span }: Model): Frame {
  const narrow = width < NARROW;
  const plates = Math.max(186, ...grips.map(({ label }) => 48 + LETTER * label.length));
  const box: Box = { left: narrow ? 62 : 92, right: width - (narrow ? 104 : Math.min(plates, width / 3)), top: 18, bottom: height - 24 };
  return {
    box,
    across: { values: stationSpan(places), pixels: [box.left, box.right] },
    up: { values: span, pixels: [box.bottom, box.top] },
  };
}

function picture(model: Model, frame: Frame, hand: HeightHand): SVGTemplateResult {
  const { box, across, up } = frame;
  const { places } = model;
  const at = ([station, height]: readonly [number, number]): readonly [number, number] => [pixelOf(across, station), pixelOf(up, height)];
  const line = (height: (place: CutPlace) => number): string => pathOf(places.map((place) => at([place.station, height(place)])));
  const areas = (upper: (place: CutPlace) => number, lower: (place: CutPlace) => number): string =>
    areasBetween(places, upper, lower).map((area) => pathOf(area.map(at), true)).join("");
  const ground = ({ ground: height }: CutPlace): number => height;
  const finish = ({ finish: height }: CutPlace): number => height;
  const subgrade = ({ subgrade: height }: CutPlace): number => height;
  const water = areas(({ water: level, finish: height }) => level ?? height, finish);
  const ys = model.grips.map(({ level }) => pixelOf(up, level));
  const labels = spread(ys, 28);
  const grips = model.grips.map(
    ({ body, name, label, text }, number): ShownGrip => ({ grip: { name: "level", body }, name, text, label: model.width < NARROW ? text : label, y: ys[number] as number, labelY: labels[number] as number }),
  );
  return svg`
    ${hatches("section")}
    <defs><clipPath id="section-clip"><rect x=${box.left} y=${box.top} width=${box.right - box.left} height=${Math.max(0, box.bottom - box.top)} /></clipPath></defs>
    ${heightAxis(box, up, model.waterLine)}
    <g clip-path="url(#section-clip)">
      <path class="earth" d="${line(subgrade)}L${pixels(box.right)} ${box.bottom}L${box.left} ${box.bottom}Z" />
      <path class="water" d=${water} />
      <path fill="url(#section-dig)" d=${areas(ground, subgrade)} />
      <path fill="url(#section-raise)" d=${areas(subgrade, ground)} />
      <path class="water-wash" d=${water} />
      ${waterRuns(places).map(({ from, to, level }) => {
        const [start, end, y] = [pixelOf(across, from), pixelOf(across, to), pixelOf(up, level)];
        return svg`<path class="water-line" d="M${pixels(start)} ${pixels(y)}H${pixels(end)}" />
          <path class="water-lining" d="M${pixels(start + 8)} ${pixels(y + 5)}H${pixels(end - 8)}M${pixels(start + 16)} ${pixels(y + 9)}H${pixels(end - 16)}" />`;
      })}
      ${model.grips.map(({ level }) => svg`<path class="level-reach" d="M${box.left} ${pixels(pixelOf(up, level))}H${box.right}" />`)}
      <path class="ground-line" d=${line(ground)} />
      <path class="subgrade-line" d=${line(subgrade)} />
      <path class="rim-line" d=${line(finish)} />
      ${linedRuns(places, LINER_OVER).map((run) => svg`<path class="liner-line" d=${pathOf(run.map((place) => at([place.station, place.subgrade])))} />`)}
      ${groundwaterLine(places, frame)}
      ${lineNames(places, frame)}
    </g>
    ${lengthAxis(box, across, box.bottom)}
    ${grips.map((grip) => gripHandle(box, model.width, up, hand, grip))}
    ${model.mark === null ? nothing : markLine(model, frame, model.mark)}`;
}

/** The groundwater of the wet season, named at its left end. */
function groundwaterLine(places: readonly CutPlace[], { box, across, up }: Frame): SVGTemplateResult {
  const known = places.filter(({ below }) => below !== null);
  const [first] = known;
  if (known.length < 2 || !first) return svg``;
  const y = pixelOf(up, first.below as number);
  return svg`<path class="groundwater-line" data-testid="section-groundwater" d=${pathOf(known.map((place) => [pixelOf(across, place.station), pixelOf(up, place.below as number)] as const))} />
    <text class="line-name water-name" x=${pixels(box.left + 6)} y=${pixels(Math.min(Math.max(y - 6, box.top + 12), box.bottom - 4))}>${say("groundwater.line.water")}</text>`;
}

/** Old ground and finish named where they are farthest apart, the subgrade where it lies deepest. */
function lineNames(places: readonly CutPlace[], { box, across, up }: Frame): SVGTemplateResult {
  const room = places.filter(({ station }) => {
    const x = pixelOf(across, station);
    return x > box.left + 10 && x < box.right - 90;
  });
  const farthest = most(room, ({ ground, finish }) => Math.abs(ground - finish));
  if (!farthest) return svg``;
  const above = farthest.ground > farthest.finish;
  const layered = Math.abs(pixelOf(up, farthest.finish) - pixelOf(up, farthest.subgrade)) > 3;
  const x = pixels(pixelOf(across, farthest.station) + 4);
  const y = (height: number, over: boolean): string =>
    pixels(Math.min(Math.max(pixelOf(up, height) + (over ? -6 : 15), box.top + 12), box.bottom - 4));
  return svg`<text class="line-name ground" x=${x} y=${y(farthest.ground, above)}>${say("section.ground")}</text>
    <text class="line-name rim" x=${x} y=${y(farthest.finish, layered || !above)}>${say("section.finish")}</text>
    ${layered ? svg`<text class="line-name" x=${x} y=${y(farthest.subgrade, false)}>${say("section.subgrade")}</text>` : nothing}`;
}

function markLine(model: Model, { box, across, up }: Frame, station: number): SVGTemplateResult {
  const place = placeOn(model.places, station);
  if (!place) return svg``;
  const x = pixelOf(across, station);
  const right = x > (box.left + box.right) / 2;
  return svg`<g class="mark" aria-hidden="true" data-testid="section-mark">
    <path d="M${pixels(x)} ${box.top}V${box.bottom}" />
    <circle cx=${pixels(x)} cy=${pixels(pixelOf(up, place.finish))} r="4" />
    <text class="reading" x=${pixels(right ? x - 8 : x + 8)} y=${box.top + 12} text-anchor=${right ? "end" : "start"}>${readingAt(model, station)}</text>
  </g>`;
}

function readingAt({ places, waterLine }: Model, station: number): string {
  const place = placeOn(places, station);
  if (!place) return "";
  return say("section.reading", {
    station: stationText(station),
    ground: heightText(place.ground, waterLine),
    finish: heightText(place.finish, waterLine),
    change: changeWords(place),
  });
}

function changeWords({ ground, subgrade }: CutPlace): string {
  const depth = format(Math.abs(ground - subgrade), "length", units.value);
  if (Math.abs(ground - subgrade) < 0.003) return say("section.asItIs");
  return say(ground > subgrade ? "section.digHere" : "section.raiseHere", { depth });
}

function summary(model: Model): string {
  const { places } = model;
  const [from, to] = stationSpan(places);
  const length = (value: number): string => format(Math.max(value, 0), "length", units.value);
  const deepest = most(places, ({ water, finish }) => (water ?? finish) - finish);
  const dug = most(places, ({ ground, subgrade }) => ground - subgrade);
  const raised = most(places, ({ ground, subgrade }) => subgrade - ground);
  const depth = deepest && deepest.water !== null ? deepest.water - deepest.finish : 0;
  return say(depth > 0 ? "section.summary" : "section.summaryDry", {
    length: stationText(to - from),
    where: where(model),
    depth: length(depth),
    station: stationText(deepest?.station ?? 0),
    dig: length(dug ? dug.ground - dug.subgrade : 0),
    raise: length(raised ? raised.subgrade - raised.ground : 0),
  });
}

function tableOf(model: Model) {
  const { places, waterLine } = model;
  const every = Math.max(1, Math.ceil(places.length / ROWS_IN_TABLE));
  const rows = places
    .filter((_, at) => at % every === 0 || at === places.length - 1)
    .map((place) => [
      stationText(place.station),
      heightText(place.ground, waterLine),
      heightText(place.finish, waterLine),
      heightText(place.subgrade, waterLine),
      place.water === null ? "–" : heightText(place.water, waterLine),
      changeWords(place),
    ]);
  const columns = (["station", "ground", "finish", "subgrade", "water", "change"] as const).map((name) => say(`section.column.${name}`));
  return { caption: say("section.tableCaption", { where: where(model) }), columns, rows };
}

function where({ isDefault }: Model): string {
  return say(isDefault ? "section.default" : "section.drawn");
}

function markOn(places: readonly CutPlace[]): number | null {
  const mark = pointed.value;
  if (mark === null) return null;
  const { station, distance } = stationAlong(places, [mark.east, mark.north]);
  return distance <= NEAR_LINE ? station : null;
}

function most<T>(items: readonly T[], measure: (item: T) => number): T | null {
  return items.reduce<T | null>((best, item) => (best !== null && measure(best) >= measure(item) ? best : item), null);
}

function tenths([low, high]: Span): Span {
  return [Math.floor(low * 10) / 10, Math.ceil(high * 10) / 10];
}

function pointsOf(ring: Ring): readonly SitePoint[] {
  return sampledRing(ring)?.points ?? [];
}

function same(one: readonly SitePoint[] | null, other: readonly SitePoint[] | null): boolean {
  if (one === null || other === null) return one === other;
  return one.length === other.length && one.every(([east, north], at) => east === other[at]?.[0] && north === other[at]?.[1]);
}

function placeOf(event: PointerEvent): readonly [number, number] {
  const frame = (event.currentTarget as Element).getBoundingClientRect();
  return [event.clientX - frame.left, event.clientY - frame.top];
}
