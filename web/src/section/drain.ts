/** Drain profile: the ground over a drain, its pipe, how it falls, where it runs out, and how high that floods. */

import { type SVGTemplateResult, type TemplateResult, html, nothing, render, svg } from "lit";
import type { Job } from "../api/types";
import { drawn, followSize, rootIn } from "../charts/drawn";
import { type Box, heightAxis, heightText, lengthAxis, pathOf, pixels, stationText } from "../charts/picture";
import { type Scale, exaggeration, pixelOf, pixelsPerUnit, roomy, shortFactor, spread, valueAt } from "../charts/scale";
import { twinTable } from "../charts/twin";
import "../charts/views.css";
import "./water.css";
import { percent } from "../format/shown";
import { format } from "../format/units";
import { say } from "../format/words";
import { choiceBox } from "../panels/boxes";
import { pointed } from "../plan/mark";
import { type DrainLine, type DrainPlace, drainsOf, newestTold } from "../plan/water-fields";
import type { Session } from "../state/session";
import { heights, look, units } from "../state/settings";
import { signal } from "../state/signal";
import { drainInHand } from "../state/water-shown";
import { drainPlaceAt, floodReach, linedRuns } from "./drain-line";

const LEAST_HEIGHT = 1;
const NEAR = 2;
const ROWS_IN_TABLE = 30;

export function mountDrainProfile(host: HTMLElement, session: Session): () => void {
  return new DrainView(host, session).dispose;
}

interface Model {
  readonly drains: readonly DrainLine[];
  readonly drain: DrainLine | null;
  readonly job: Job | null;
  readonly figures: Readonly<Record<string, number>>;
  readonly width: number;
  readonly height: number;
  readonly waterLine: number | null;
  readonly mark: number | null;
  readonly asTable: boolean;
}

interface Frame {
  readonly box: Box;
  readonly across: Scale;
  readonly up: Scale;
}

class DrainView {
  private readonly read = newestTold(drainsOf);
  private readonly size = signal({ width: 0, height: 0 });
  private readonly asTable = signal(false);
  private readonly host: HTMLElement;
  private readonly stop: () => void;
  private stopSize: () => void = () => undefined;
  private followed: Element | null = null;
  private last: { readonly drain: DrainLine; readonly frame: Frame } | null = null;

  constructor(
    place: HTMLElement,
    private readonly session: Session,
  ) {
    this.host = rootIn(place);
    session.want("drains", true, "profile");
    this.stop = drawn(() => this.model(), (model) => this.draw(model));
  }

  readonly dispose = (): void => {
    this.stop();
    this.stopSize();
    this.session.want("drains", false, "profile");
    this.leave();
    this.host.remove();
  };

  private model(): Model {
    void [units.value, heights.value, look.value];
    const drains = this.read(this.session.frame.value) ?? [];
    const drain = drains.find(({ id }) => id === drainInHand.value) ?? drains[0] ?? null;
    return {
      drains,
      drain,
      job: this.session.shown.value,
      figures: this.session.figures.value,
      ...this.size.value,
      waterLine: this.session.waterLine.value,
      mark: drain && markOn(drain),
      asTable: this.asTable.value,
    };
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
    const { drain } = model;
    if (!drain || drain.places.length < 2) return html`<section class="view drain-view"><p class="view-none">${say("groundwater.profileNone")}</p></section>`;
    const frame = frameOf(model, drain);
    this.last = { drain, frame };
    const name = nameOf(model, drain.id);
    return html`<section class="view drain-view" aria-label=${say("groundwater.profile")}>
      <header class="view-head">
        ${choiceBox({ id: "profile-drain", label: say("groundwater.profileWhich"), value: drain.id, of: model.drains.map(({ id }) => [id, nameOf(model, id)] as const), set: (id) => (drainInHand.value = id) })}
        <span class="view-tools">
          ${model.asTable ? nothing : html`<span class="view-note">${say("shore.exaggeration", { factor: shortFactor(exaggeration(frame.across, frame.up)) })}</span>`}
          <button type="button" aria-pressed=${model.asTable} data-testid="profile-table" @click=${() => void (this.asTable.value = !model.asTable)}>${say(model.asTable ? "shore.asPicture" : "shore.asTable")}</button>
        </span>
      </header>
      ${model.asTable
        ? twinTable(tableOf(model, drain))
        : html`<div class="strip-stage">
            ${model.width < 160 || model.height < 90
              ? nothing
              : html`<svg width=${model.width} height=${model.height} role="img" aria-label=${say("groundwater.profilePicture", { name })} data-testid="profile" @pointermove=${this.hover} @pointerleave=${this.leave}>${picture(model, drain, frame)}</svg>`}
          </div>`}
      <p class="view-says" data-testid="profile-says">${summary(model, drain)}</p>
    </section>`;
  }

  private readonly hover = (event: PointerEvent): void => {
    if (!this.last) return;
    const { drain, frame } = this.last;
    const x = event.clientX - (event.currentTarget as Element).getBoundingClientRect().left;
    const place = x < frame.box.left || x > frame.box.right ? null : drainPlaceAt(drain.places, valueAt(frame.across, x));
    if (place) pointed.value = { east: place.point[0], north: place.point[1], from: "section" };
    else this.leave();
  };

  private readonly leave = (): void => {
    if (pointed.value?.from === "section") pointed.value = null;
  };
}

function nameOf({ job }: Model, id: string): string {
  return job?.groundwater?.drains?.[id]?.name || id;
}

function endName({ job }: Model, { ends }: DrainLine): string {
  return job?.groundwater?.outlets?.[ends]?.name || job?.groundwater?.sumps?.[ends]?.name || ends || say("groundwater.notDecided");
}

function frameOf({ width, height }: Model, { places, flood, diameter }: DrainLine): Frame {
  const narrow = width < 640;
  const box: Box = { left: narrow ? 62 : 92, right: width - (narrow ? 20 : 150), top: 16, bottom: height - 24 };
  const all = places.flatMap(({ invert, ground, finish, water }) => [invert, invert + diameter, ground, finish, ...(water === null ? [] : [water])]);
  const span = roomy([...all, ...(flood === null ? [] : [flood])], LEAST_HEIGHT);
  return {
    box,
    across: { values: [0, places.at(-1)?.station ?? 1], pixels: [box.left, box.right] },
    up: { values: [Math.floor(span[0] * 10) / 10, Math.ceil(span[1] * 10) / 10], pixels: [box.bottom, box.top] },
  };
}

function picture(model: Model, drain: DrainLine, frame: Frame): SVGTemplateResult {
  const { box, across, up } = frame;
  const { places, diameter, flood } = drain;
  const at = (place: DrainPlace, height: number): readonly [number, number] => [pixelOf(across, place.station), pixelOf(up, height)];
  const line = (some: readonly DrainPlace[], height: (place: DrainPlace) => number): string => pathOf(some.map((place) => at(place, height(place))));
  const bottom = (place: DrainPlace): number => place.invert;
  // A pipe thinner than a pen would not be seen.
  const bore = Math.max(diameter, 3 / pixelsPerUnit(up));
  const pipe = pathOf([...places.map((place) => at(place, place.invert)), ...places.toReversed().map((place) => at(place, place.invert + bore))], true);
  const reach = floodReach(drain);
  const wet = places.filter(({ water }) => water !== null);
  return svg`
    <defs><clipPath id="drain-clip"><rect x=${box.left} y=${box.top} width=${box.right - box.left} height=${Math.max(0, box.bottom - box.top)} /></clipPath></defs>
    ${heightAxis(box, up, model.waterLine)}
    <g clip-path="url(#drain-clip)">
      <path class="earth" d="${line(places, ({ finish }) => finish)}L${pixels(box.right)} ${box.bottom}L${box.left} ${box.bottom}Z" />
      <path class="ground-line" d=${line(places, ({ ground }) => ground)} />
      <path class="rim-line" d=${line(places, ({ finish }) => finish)} />
      ${linedRuns(places).map((run) => svg`<path class="liner-line" d=${line(run, ({ under }) => under)} />`)}
      ${wet.length > 1 ? svg`<path class="groundwater-line" d=${line(wet, ({ water }) => water as number)} />` : nothing}
      <path class="pipe" d=${pipe} />
      <path class="pipe-line" d=${line(places, bottom)} />
      ${flood === null || reach === null ? nothing : svg`<path class="flood-line" d="M${pixels(pixelOf(across, reach))} ${pixels(pixelOf(up, flood))}H${box.right}" />`}
      ${fallWords(drain, frame)}
    </g>
    ${lengthAxis(box, across, box.bottom)}
    ${drain.eyes.map((eye) => svg`<path class="eye" d="M${pixels(pixelOf(across, eye))} ${box.bottom - 7}l4 7h-8z" />`)}
    ${model.width < 640 ? nothing : names(drain, frame)}
    ${model.mark === null ? nothing : markLine(model, drain, frame, model.mark)}`;
}

/** Fall of each piece under its pipe, where there is room for it. */
function fallWords({ places, bends, falls }: DrainLine, { box, across, up }: Frame): SVGTemplateResult {
  return svg`${falls.map((fall, piece) => {
    const [from, to] = [bends[piece] ?? 0, bends[piece + 1] ?? 0];
    const place = drainPlaceAt(places, (from + to) / 2);
    const room = pixelOf(across, to) - pixelOf(across, from);
    if (!place || room < 52) return nothing;
    const y = Math.min(pixelOf(up, place.invert) + 17, box.bottom - 4);
    return svg`<text class="line-name pipe-name" x=${pixels(pixelOf(across, place.station))} y=${pixels(y)} text-anchor="middle">${percent(Math.abs(fall))} ${fall >= 0 ? "→" : "←"}</text>`;
  })}`;
}

/** The lines named at the right, beside where they end. */
function names({ places, flood, diameter }: DrainLine, { box, up }: Frame): SVGTemplateResult {
  const last = places.at(-1) as DrainPlace;
  const together = Math.abs(pixelOf(up, last.ground) - pixelOf(up, last.finish)) < 3;
  const all = [
    { words: say("groundwater.line.finish"), height: last.finish, kind: "" },
    ...(together ? [] : [{ words: say("groundwater.line.ground"), height: last.ground, kind: "ground" }]),
    { words: say("groundwater.line.pipe"), height: last.invert + diameter / 2, kind: "pipe-name" },
    ...(flood === null ? [] : [{ words: say("groundwater.line.flood"), height: flood, kind: "flood-name" }]),
    ...(last.water === null ? [] : [{ words: say("groundwater.line.water"), height: last.water, kind: "water-name" }]),
  ];
  const ys = all.map(({ height }) => pixelOf(up, height));
  const labels = spread(ys, 16);
  return svg`${all.map(({ words, kind }, at) => svg`<path class="leader" d="M${box.right} ${pixels(ys[at] as number)}L${box.right + 10} ${pixels(labels[at] as number)}" />
    <text class="line-name ${kind}" x=${box.right + 14} y=${pixels((labels[at] as number) + 4)}>${words}</text>`)}`;
}

function markLine(model: Model, { places }: DrainLine, { box, across, up }: Frame, station: number): SVGTemplateResult {
  const place = drainPlaceAt(places, station);
  if (!place) return svg``;
  const x = pixelOf(across, station);
  const right = x > (box.left + box.right) / 2;
  const words = `${stationText(station)}: ${say("groundwater.line.pipe")} ${heightText(place.invert, model.waterLine)}`;
  return svg`<g class="mark" aria-hidden="true">
    <path d="M${pixels(x)} ${box.top}V${box.bottom}" />
    <circle cx=${pixels(x)} cy=${pixels(pixelOf(up, place.invert))} r="4" />
    <text class="reading" x=${pixels(right ? x - 8 : x + 8)} y=${box.top + 12} text-anchor=${right ? "end" : "start"}>${words}</text>
  </g>`;
}

function markOn({ places }: DrainLine): number | null {
  const mark = pointed.value;
  if (mark === null) return null;
  let best = { station: 0, away: Infinity };
  for (const { station, point } of places) {
    const away = Math.hypot(point[0] - mark.east, point[1] - mark.north);
    if (away < best.away) best = { station, away };
  }
  return best.away <= NEAR ? best.station : null;
}

function summary(model: Model, drain: DrainLine): string {
  const of = (what: string): number | undefined => model.figures[`groundwater.profiles.lines.${drain.id}.${what}`];
  const length = (value: number): string => format(value, "length", units.value);
  const cover = of("least_cover");
  const { flood } = drain;
  const lower = drain.places.at(-1)?.invert ?? 0;
  const over = flood === null ? 0 : flood - lower;
  const above = over <= 0 ? say("groundwater.floodBelow", { value: length(-over) }) : say("groundwater.floodAbove", { value: length(over), length: stationText(of("flooded") ?? 0) });
  return say("groundwater.profileSays", {
    name: nameOf(model, drain.id),
    length: stationText(drain.places.at(-1)?.station ?? 0),
    fall: percent(of("fall") ?? Math.min(...drain.falls, 1)),
    upper: heightText(drain.places[0]?.invert ?? 0, model.waterLine),
    lower: heightText(lower, model.waterLine),
    cover: cover === undefined ? "" : say("groundwater.profileCover", { cover: length(cover) }),
    flood: flood === null ? "" : say("groundwater.profileFlood", { end: endName(model, drain), level: heightText(flood, model.waterLine), above }),
  });
}

function tableOf(model: Model, { id, places, bends }: DrainLine) {
  const { waterLine } = model;
  const every = Math.max(1, Math.ceil(places.length / ROWS_IN_TABLE));
  const isBend = ({ station }: DrainPlace): boolean => bends.some((bend) => Math.abs(bend - station) < 1e-6);
  const rows = places
    .filter((place, at) => at % every === 0 || at === places.length - 1 || isBend(place))
    .map((place) => [
      stationText(place.station),
      heightText(place.ground, waterLine),
      heightText(place.finish, waterLine),
      heightText(place.invert, waterLine),
      format(Math.max(Math.min(place.ground, place.under) - place.invert, 0), "length", units.value),
    ]);
  const columns = (["station", "ground", "finish", "invert", "depth"] as const).map((name) => say(`groundwater.column.${name}`));
  return { caption: say("groundwater.tableOf", { name: nameOf(model, id) }), columns, rows };
}
