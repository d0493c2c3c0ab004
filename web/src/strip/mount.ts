/** The shore unrolled: the whole edge as one long strip, walked along and moved by the hand. */

import { type TemplateResult, html, nothing, render, svg } from "lit";
import type { Job } from "../api/types";
import "../charts/views.css";
import "../section/water.css";
import { drawn, followSize, rootIn } from "../charts/drawn";
import { newestOfBodies } from "../charts/fields";
import { HeightHand } from "../charts/hand";
import { HeightBox } from "../charts/height-box";
import { heightText, stationText } from "../charts/picture";
import { type Span, exaggeration, pixelOf, pixelsPerUnit, shortFactor, valueAt } from "../charts/scale";
import { twinTable } from "../charts/twin";
import { format, formatChange } from "../format/units";
import { say } from "../format/words";
import { pointed } from "../plan/mark";
import { OUTER } from "../plan/rings";
import { bodyInHand, lit } from "../state/desk";
import type { Session } from "../state/session";
import { heights, look, units } from "../state/settings";
import { type Signal, batch, signal } from "../state/signal";
import { BANKS, type Edge, type Spot, bankBands, edgesOf, hasFace, lowSpots, openSpots, pegTicks, placeAt, raisedSpots, stationNear } from "./edge";
import { letterOf } from "./flags";
import type { LineName } from "./names";
import { type KeyLine, type StripFrame, type StripModel, bankName, frameOf, gripsOf, heightsInView, namesOf, flagged, readingAt, spotWords, stripPicture } from "./picture";
import { isPart, scrolled, showing, whole, zoomed } from "./view";

/** A place on the plan shows on the strip when it is so near to the edge [m]. */
const NEAR_EDGE = 4;
const LINE_REACH_MOUSE = 7;
const LINE_REACH_TOUCH = 18;

export function mountStrip(host: HTMLElement, session: Session): () => void {
  return new StripView(host, session).dispose;
}

interface Model {
  readonly job: Job | null;
  readonly edges: readonly Edge[];
  readonly strip: StripModel | null;
  readonly asTable: boolean;
  readonly fault: string;
}

class StripView {
  private readonly hand: HeightHand;
  private readonly levelBox: HeightBox;
  private readonly freeboardBox: HeightBox;
  private readonly readField = newestOfBodies("strip");
  private readonly size = signal({ width: 0, height: 0 });
  /** Part in view, as shares of the length, so that it stays when the shore is bent. */
  private readonly view: Signal<Span> = signal<Span>([0, 1]);
  private readonly asTable = signal(false);
  /** Ring of the body in hand: its shore, an island, a bank of a stream. */
  private readonly ring = signal<string>(OUTER);
  /** Whether all heights are in view, or only those near the water. */
  private readonly allHeights = signal(false);
  private readonly redraw = signal(0);
  private heldHeights: Span | null = null;
  private last: { strip: StripModel; frame: StripFrame } | null = null;
  private readonly fingers = new Map<number, number>();
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
    const again = (): void => void (this.redraw.value += 1);
    this.levelBox = new HeightBox(this.hand, again);
    this.freeboardBox = new HeightBox(this.hand, again);
    session.want("strip", true, "strip");
    this.stop = drawn(() => this.model(), (model) => this.draw(model));
  }

  readonly dispose = (): void => {
    this.stop();
    this.stopSize();
    this.hand.dispose();
    if (pointed.value?.from === "strip") pointed.value = null;
    this.host.remove();
  };

  private model(): Model {
    const { session } = this;
    void [units.value, heights.value, look.value, this.redraw.value, this.hand.held.value];
    const job = this.hand.held.value ? session.shown.value : session.answered.value;
    const edges = edgesOf(this.readField(session.frame.value), job);
    return { job, edges, strip: job && this.stripModel(job, edges), asTable: this.asTable.value, fault: this.hand.fault.value };
  }

  private stripModel(job: Job, edges: readonly Edge[]): StripModel | null {
    const own = edges.filter((one) => one.body === bodyInHand.value);
    const edge = own.find((one) => one.ring === this.ring.value) ?? own[0] ?? edges[0];
    if (!edge) return null;
    const first = edge.places[0];
    const level = this.hand.value({ name: "level", body: edge.body }) ?? first?.water ?? 0;
    const freeboard = this.hand.value({ name: "freeboard", body: edge.body }) ?? first?.freeboard ?? 0;
    const [from, to] = this.view.value;
    const view: Span = [from * edge.length, to * edge.length];
    const { width, height } = this.size.value;
    // The scale stands still under the hand, or the line would run away from it.
    const held = this.hand.held.value;
    const span = (held && this.heldHeights) || heightsInView(edge, level, freeboard, view, this.allHeights.value);
    this.heldHeights = span;
    return { job, edge, level, freeboard, waterLine: this.session.waterLine.value, view, width, height, mark: markOn(edge), heights: span };
  }

  private draw(model: Model): void {
    render(this.template(model), this.host);
    const stage = this.host.querySelector(".strip-stage");
    if (stage === this.followed) return;
    this.stopSize();
    this.followed = stage;
    if (stage) this.stopSize = followSize(stage, (width, height) => void (this.size.value = { width, height }));
  }

  private template({ job, edges, strip, asTable, fault }: Model): TemplateResult {
    if (!job || !strip) return html`<section class="view strip-view"><p class="view-none">${say("shore.none")}</p></section>`;
    const frame = frameOf(strip);
    this.last = { strip, frame };
    const { named, key } = namesOf(strip, frame);
    return html`<section class="view strip-view" aria-label=${say("below.strip")}>
      ${this.head(job, edges, strip, frame, asTable)}
      ${fault ? html`<p class="wrong" role="alert">${say("job.cannot", { why: fault })}</p>` : nothing}
      ${asTable ? this.table(strip) : this.stage(strip, frame, named)}
      ${asTable || !key.length ? nothing : keyOf(key)}
      <p class="view-says">${summary(strip)} ${openSummary(strip)}</p>
    </section>`;
  }

  private head(job: Job, edges: readonly Edge[], strip: StripModel, frame: StripFrame, asTable: boolean): TemplateResult {
    const [level, freeboard] = gripsOf(strip);
    const part = isPart(strip.view, strip.edge.length);
    return html`<header class="view-head">
      ${edges.length < 2 ? nothing : html`<label>${say("shore.which")}
        <select data-testid="strip-ring" @change=${(event: Event) => this.choose((event.target as HTMLSelectElement).value)}>
          ${edges.map((edge) => html`<option value="${edge.body} ${edge.ring}" ?selected=${edge === strip.edge}>${edgeName(job, edge)}</option>`)}
        </select></label>`}
      ${level ? this.levelBox.template(level.grip, level.name, level.text) : nothing}
      ${freeboard ? this.freeboardBox.template(freeboard.grip, freeboard.name, format(strip.freeboard, "length", units.value)) : nothing}
      ${this.change()}
      <span class="view-tools">
        ${asTable ? nothing : html`
        <span class="view-note">${say("shore.exaggeration", { factor: shortFactor(exaggeration(frame.across, frame.up)) })}</span>
        <button type="button" aria-pressed=${this.allHeights.value} @click=${() => void (this.allHeights.value = !this.allHeights.value)}>${say("shore.allHeights")}</button>
        <button type="button" ?disabled=${!part} @click=${() => this.zoom(0.5)} aria-label=${say("shore.zoomOut")}>−</button>
        <button type="button" @click=${() => this.zoom(2)} aria-label=${say("shore.zoomIn")} data-testid="strip-zoom-in">+</button>
        <button type="button" ?disabled=${!part} @click=${() => void (this.view.value = [0, 1])}>${say("shore.whole")}</button>`}
        <button type="button" aria-pressed=${asTable} data-testid="strip-table" @click=${() => void (this.asTable.value = !asTable)}>
          ${say(asTable ? "shore.asPicture" : "shore.asTable")}</button>
      </span>
    </header>`;
  }

  /** How far the hand has moved a height; its place is kept free, so that nothing jumps when it comes. */
  private change(): TemplateResult {
    const held = this.hand.held.value;
    return html`<output class="view-change">${held ? formatChange(held.value - held.start, "length", units.value) : nothing}</output>`;
  }

  private stage(strip: StripModel, frame: StripFrame, named: readonly LineName[]): TemplateResult {
    const { width, height } = strip;
    const { box } = frame;
    const part = isPart(strip.view, strip.edge.length);
    return html`<div class="strip-stage">
      ${width < 160 || height < 90 ? nothing : html`<svg width=${width} height=${height} role="group" aria-label=${say("shore.picture")} data-testid="strip"
          @pointermove=${this.hover} @pointerleave=${this.leave} @pointerdown=${this.press} @wheel=${this.wheel}>
        <rect class="walk" x=${box.left} y=${box.top} width=${Math.max(0, box.right - box.left)} height=${Math.max(0, box.bottom - box.top)}
          tabindex="0" role="slider" aria-label=${say("shore.walk")} aria-valuemin="0" aria-valuemax=${strip.edge.length}
          aria-valuenow=${strip.mark ?? 0} aria-valuetext=${readingAt(strip, strip.mark ?? 0)} data-testid="strip-walk"
          @keydown=${this.walkKey} />
        ${svg`${stripPicture(strip, frame, named, this.hand, this.showSpot)}`}
        ${part ? scrollBar(strip, frame) : nothing}
      </svg>`}
    </div>`;
  }

  private table(strip: StripModel): TemplateResult {
    const { edge, job, level, freeboard, waterLine } = strip;
    const bands = bankBands(edge, job);
    const spots = flagged(strip).map((spot, at) => ({
      station: spot.lowest.station,
      name: say(spot.kind === "raise" ? "shore.raiseSpot" : "shore.lowSpot", { letter: letterOf(at) }),
    }));
    const open = openSpots(edge, level, freeboard).map(({ lowest: { station, opening } }) => ({ station, name: opening?.name ?? "" }));
    const stops = [...pegTicks(edge, job).map(({ id, station }) => ({ station, name: say("shore.peg", { id }) })), ...spots, ...open];
    const rows = stops
      .sort((one, other) => one.station - other.station)
      .map(({ station, name }) => {
        const place = placeAt(edge, station);
        const band = bands.find(({ from, to }) => from <= station && station <= to);
        return [
          stationText(station),
          name,
          heightText(place.ground, waterLine),
          heightText(place.crest, waterLine),
          heightText(level - place.drop, waterLine),
          place.stoneTop === null ? "–" : heightText(place.stoneTop, waterLine),
          place.linerEdge === null ? "–" : heightText(place.linerEdge, waterLine),
          formatChange(place.crest - level + place.drop - freeboard, "length", units.value),
          [band ? bankName(job, band.bankType, BANKS.has(edge.ring)) : "", hasFace(place) ? say("shore.face") : ""].filter(Boolean).join(", "),
        ];
      });
    const columns = (["station", "place", "ground", "rim", "level", "stone", "linerEdge", "spare", "bank"] as const).map((name) => say(`shore.column.${name}`));
    return twinTable({ caption: say("shore.tableCaption", { name: edgeName(job, edge) }), columns, rows });
  }

  private choose(name: string): void {
    const [body = "", ring = OUTER] = name.split(" ");
    batch(() => {
      this.view.value = [0, 1];
      this.ring.value = ring;
      bodyInHand.value = body;
    });
  }

  private zoom(factor: number, about?: number): void {
    if (!this.last) return;
    const { strip } = this.last;
    const middle = (strip.view[0] + strip.view[1]) / 2;
    const marked = strip.mark !== null && strip.mark > strip.view[0] && strip.mark < strip.view[1] ? strip.mark : middle;
    this.lookAt(zoomed(strip.view, strip.edge.length, factor, about ?? marked));
  }

  private lookAt(view: Span): void {
    const length = this.last?.strip.edge.length ?? 1;
    const [from, to] = isPart(view, length) ? view : whole(length);
    this.view.value = [from / length, to / length];
  }

  private point(station: number): void {
    if (!this.last) return;
    const place = placeAt(this.last.strip.edge, station);
    pointed.value = { east: place.east, north: place.north, station: place.station, from: "strip" };
  }

  private readonly showSpot = (spot: Spot): void => {
    if (!this.last) return;
    this.point(spot.lowest.station);
    this.lookAt(showing(this.last.strip.view, this.last.strip.edge.length, spot.lowest.station));
    lit.value = [[spot.lowest.east, spot.lowest.north]];
  };

  private readonly hover = (event: PointerEvent): void => {
    if (!this.last || event.pointerType === "touch" || this.hand.held.value) return;
    const { box, across } = this.last.frame;
    const [x, y] = place(event);
    const within = x >= box.left && x <= box.right && y <= box.bottom + 30;
    if (within) this.point(valueAt(across, x));
    else this.leave();
    (event.currentTarget as SVGElement).classList.toggle("on-line", within && this.gripNear(event) !== null);
  };

  private readonly leave = (): void => {
    if (pointed.value?.from === "strip") pointed.value = null;
  };

  private gripNear(event: PointerEvent) {
    if (!this.last) return null;
    const { strip, frame } = this.last;
    const [x, y] = place(event);
    if (x < frame.box.left || x > frame.box.right) return null;
    const reach = event.pointerType === "touch" ? LINE_REACH_TOUCH : LINE_REACH_MOUSE;
    const near = gripsOf(strip)
      .map(({ grip, height }) => ({ grip, away: Math.abs(pixelOf(frame.up, height) - y) }))
      .sort((one, other) => one.away - other.away)[0];
    return near && near.away <= reach ? near.grip : null;
  }

  private readonly press = (event: PointerEvent): void => {
    if (!this.last || event.defaultPrevented || event.button > 0) return;
    const target = event.currentTarget as SVGElement;
    const grip = event.isPrimary ? this.gripNear(event) : null;
    // A second finger means zooming: what the first one took hold of is let go.
    if (!event.isPrimary) this.hand.cancel();
    this.walkWith(event, target, grip === null);
    if (grip) this.hand.press(event, target, grip, 1 / pixelsPerUnit(this.last.frame.up));
  };

  /** One finger or the mouse walks or, when a part is in view, pulls the strip along; two fingers zoom. */
  private walkWith(event: PointerEvent, target: SVGElement, points: boolean): void {
    const over = new AbortController();
    const { signal: until } = over;
    this.fingers.set(event.pointerId, place(event)[0]);
    target.setPointerCapture(event.pointerId);
    const drop = (next: PointerEvent): void => {
      if (next.pointerId !== event.pointerId) return;
      this.fingers.delete(event.pointerId);
      over.abort();
    };
    const move = (next: PointerEvent): void => {
      if (next.pointerId === event.pointerId) this.pull(next);
    };
    target.addEventListener("pointermove", move as EventListener, { signal: until });
    target.addEventListener("pointerup", drop as EventListener, { signal: until });
    target.addEventListener("pointercancel", drop as EventListener, { signal: until });
    if (points && event.pointerType === "touch" && this.fingers.size === 1) this.pointUnder(event);
  }

  private pull(event: PointerEvent): void {
    if (!this.last) return;
    const { strip, frame } = this.last;
    const [x] = place(event);
    const before = this.fingers.get(event.pointerId) ?? x;
    const other = [...this.fingers].find(([finger]) => finger !== event.pointerId)?.[1];
    this.fingers.set(event.pointerId, x);
    if (this.hand.held.value) return;
    const perPixel = (strip.view[1] - strip.view[0]) / (frame.box.right - frame.box.left);
    if (other !== undefined) {
      const factor = Math.max(Math.abs(x - other), 12) / Math.max(Math.abs(before - other), 12);
      this.lookAt(zoomed(strip.view, strip.edge.length, factor, valueAt(frame.across, other)));
    } else if (event.pointerType !== "touch") {
      this.lookAt(scrolled(strip.view, strip.edge.length, (before - x) * perPixel));
    } else this.pointUnder(event);
  }

  private pointUnder(event: PointerEvent): void {
    if (this.last) this.point(valueAt(this.last.frame.across, place(event)[0]));
  }

  private readonly wheel = (event: WheelEvent): void => {
    if (!this.last) return;
    event.preventDefault();
    const { strip, frame } = this.last;
    const sideways = event.shiftKey ? event.deltaY || event.deltaX : event.deltaX;
    if (Math.abs(sideways) > Math.abs(event.shiftKey ? 0 : event.deltaY)) {
      const perPixel = (strip.view[1] - strip.view[0]) / (frame.box.right - frame.box.left);
      this.lookAt(scrolled(strip.view, strip.edge.length, sideways * perPixel));
    } else this.zoom(1.002 ** -event.deltaY, valueAt(frame.across, place(event)[0]));
  };

  private readonly walkKey = (event: KeyboardEvent): void => {
    if (!this.last) return;
    const { strip } = this.last;
    const step = (event.shiftKey ? 10 : 1) * (units.value === "metric" ? 0.5 : 0.6096);
    const now = strip.mark ?? strip.view[0];
    const stations: Readonly<Record<string, number>> = {
      ArrowRight: now + step,
      ArrowLeft: now - step,
      Home: 0,
      End: strip.edge.length,
    };
    if (event.key === "+" || event.key === "=") this.zoom(2);
    else if (event.key === "-") this.zoom(0.5);
    else if (event.key in stations) {
      const station = Math.min(Math.max(stations[event.key] as number, 0), strip.edge.length);
      this.point(station);
      this.lookAt(showing(strip.view, strip.edge.length, station));
    } else if (!this.hand.key(event, { name: "level", body: strip.edge.body })) return;
    event.preventDefault();
  };
}

function edgeName(job: Job, { body, ring }: Edge): string {
  const name = job.shape.bodies?.[body]?.name || body;
  if (ring === OUTER) return name;
  if (BANKS.has(ring)) return say(ring === "left" ? "shore.leftBank" : "shore.rightBank", { name });
  return say("shore.island", { name, island: ring });
}

/** Station of the place that is pointed at, when it is on or near this edge. */
function markOn(edge: Edge): number | null {
  const mark = pointed.value;
  if (mark === null) return null;
  const { station, distance } = stationNear(edge, [mark.east, mark.north]);
  if (distance > NEAR_EDGE) return null;
  // A closed shore has two stations at its seam: keep the one that was meant.
  return mark.from === "strip" && mark.station !== undefined && distance < 0.01 ? mark.station : station;
}

function summary({ edge, level, freeboard }: StripModel): string {
  const spots = lowSpots(edge, level, freeboard);
  const length = format(edge.length, "length", units.value, { digits: 0 });
  const [worst] = spots;
  if (!worst) return `${say("shore.allHigh", { length })} ${raiseSummary(edge, level, freeboard)}`;
  const words = spotWords(worst, level);
  return spots.length === 1 ? say("shore.oneLow", { length, words }) : say("shore.manyLow", { length, count: spots.length, words });
}

/** What opens the bank on purpose, and so is counted nowhere. */
function openSummary({ edge, level, freeboard }: StripModel): string {
  const spots = openSpots(edge, level, freeboard);
  return spots.length ? say("shore.onPurpose", { places: spots.map((spot) => spotWords(spot, level)).join("; ") }) : "";
}

function raiseSummary(edge: Edge, level: number, freeboard: number): string {
  const spots = raisedSpots(edge, level, freeboard);
  const [deepest] = spots;
  if (!deepest) return say("shore.noRaise");
  return say("shore.raisedOn", {
    length: format(spots.reduce((sum, { length }) => sum + length, 0), "length", units.value, { digits: 0 }),
    most: format(deepest.short, "length", units.value),
    station: stationText(deepest.lowest.station),
  });
}

/** The lines that have no room for their name. */
function keyOf(lines: readonly KeyLine[]): TemplateResult {
  return html`<p class="strip-stage strip-key" role="group" aria-label=${say("shore.key")}>${lines.map(
    ({ text, drawn }) => html`<span><svg width="26" height="10" aria-hidden="true"><path class=${drawn} d=${drawn === "cut-face" ? "M3 9v-7M13 9v-7M23 9v-7" : "M0 5H26"} /></svg>${text}</span>`,
  )}</p>`;
}

function scrollBar(strip: StripModel, { box }: StripFrame) {
  const width = box.right - box.left;
  const { length } = strip.edge;
  return svg`<g class="scroll" aria-hidden="true"><rect class="track" x=${box.left} y=${strip.height - 4} width=${width} height="4" />
    <rect class="thumb" x=${box.left + (strip.view[0] / length) * width} y=${strip.height - 4} width=${((strip.view[1] - strip.view[0]) / length) * width} height="4" /></g>`;
}

function place(event: PointerEvent | WheelEvent): readonly [number, number] {
  const frame = (event.currentTarget as Element).getBoundingClientRect();
  return [event.clientX - frame.left, event.clientY - frame.top];
}
