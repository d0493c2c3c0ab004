/** The boxes of what is built: streams and falls, mounds, ways, seats, low spots. */

import { html, nothing } from "lit";
import type { Gate, Job, Mound, Place, Seat, SeatKind, Way, WayKind } from "../api/types";
import { shown } from "../format/shown";
import { choiceBox, numberBox, textBox, tickBox } from "../panels/boxes";
import { figureLine } from "../panels/figures";
import type { Template } from "../panels/view";
import { attempt, setOps } from "../state/changes";
import type { Json, Op } from "../state/ops";
import { pickPlace } from "../state/pick";
import type { Selection } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import type { Boxed } from "./box";
import { chosenLinerBoxes } from "./box-lining";
import { chosenWaterBoxes } from "./box-water";
import { type Built, FIRST_HEIGHTS, FIRST_WIDTHS, GATE_WIDTH, SEAT_KINDS, WAY_KINDS, builtOne, builtPath, isLined, isPoint, isRising, isWatered, kindOps, kindWords, lengthAlong, nameOf, percent, pointsOf } from "./built";
import { type Building, building, fallTo, seatTo } from "./gestures/draw-built";
import { movableOf, movableOut, nextPoint, pointTo } from "./gestures/movable";
import { say } from "./say";
import { fallName, fallsWords, sharePath } from "./seen-falls";
import { changeFallOps, fallsOf, streamLine, streamsOf, widthOps } from "./streams";

const unfolded: Signal<boolean> = signal(false);
/** What was typed for a seat or a fall that is not there yet. */
const typed: Signal<{ readonly east: number | null; readonly north: number | null; readonly along: number | null; readonly body: string }> = signal({ east: null, north: null, along: null, body: "" });

/** The box of what is chosen, or nothing where it is none of these. */
export function chosenShapeBox(boxed: Boxed, job: Job, selection: Selection): Template {
  if (selection.kind === "fall") return fallBox(boxed, job, selection);
  if (selection.kind === "low_spot") return framed(say("plan.box.lowSpot"), html`${placeBoxes(boxed, job, selection)} ${buttons(boxed)}`);
  const built = builtOne(job, selection);
  if (!built) return nothing;
  const content = isWatered(built.kind) ? chosenWaterBoxes(boxed, job, built) : isLined(built.kind) ? chosenLinerBoxes(boxed, built) : built.kind === "way" ? wayBoxes(boxed, built, built.row as Way) : built.kind === "mound" ? moundBoxes(boxed, built, built.row as Mound) : seatBoxes(boxed, job, built, built.row as Seat);
  return framed(kindWords(built.kind, built.row), html`${content} ${placeBoxes(boxed, job, selection)} ${buttons(boxed, built, selection)}`);
}

/** Boxes over the place of a line in the making: what it is to be. */
export function buildingBoxes(): Template {
  const set = <K extends keyof Building>(key: K) => (value: Building[K] | null): boolean => {
    if (value === null && key !== "width") return false;
    building.value = { ...building.value, [key]: value };
    return true;
  };
  const { way, width, streamWidth, height } = building.value;
  if (tool.value === "stream") return numberBox({ id: "new-stream-width", label: say("plan.box.width"), kind: "length", value: streamWidth, needed: true, set: set("streamWidth") });
  if (tool.value === "mound") return numberBox({ id: "new-mound-height", label: say("plan.box.height"), kind: "length", value: height, needed: true, set: set("height") });
  if (tool.value !== "way") return nothing;
  return html`${choiceBox({ id: "new-way", label: say("plan.box.kind"), value: way, of: WAY_KINDS.map((kind) => [kind, say(`plan.way.${kind}`)] as const), set: (kind) => void set("way")(kind) })}
  ${isPoint(way) || way === "fence" ? nothing : numberBox({ id: "new-way-width", label: say("plan.box.width"), kind: "length", value: width, otherwise: shown(FIRST_WIDTHS[way], "length"), set: set("width") })}`;
}

/** A seat is put by a press; its place can be typed too. */
export function newSeatBox({ hand }: Boxed): Template {
  const put = (): void => {
    const { east, north } = typed.value;
    if (east === null || north === null) return void (hand.says.value = say("plan.box.missing"));
    hand.typed((world) => seatTo([east, north], world));
  };
  return framed(
    say("plan.tool.seat"),
    html`${typedBox("east", "new-east", "plan.box.east")} ${typedBox("north", "new-north", "plan.box.north")}
      <div class="buttons">${button(say("plan.box.keep"), put, "keep-seat")} ${button(say("plan.box.stop"), () => hand.letGo())}</div>`,
  );
}

export function newFallBox({ hand }: Boxed, job: Job): Template {
  const streams = streamsOf(job);
  const [first] = streams;
  if (!first) return framed(say("plan.tool.fall"), html`<p class="quiet">${say("plan.box.noStream")}</p>`);
  const body = streams.find((one) => one.body === typed.value.body)?.body ?? first.body;
  const put = (): void => {
    const { along } = typed.value;
    if (along !== null) hand.typed((world) => fallTo(body, along, world));
  };
  const setDrop = (drop: number | null): boolean => {
    if (drop === null || drop <= 0) return false;
    building.value = { ...building.value, drop };
    return true;
  };
  return framed(
    say("plan.tool.fall"),
    html`${streams.length > 1
        ? choiceBox({ id: "new-fall-stream", label: say("plan.box.stream"), value: body, of: streams.map((one) => [one.body, bodyName(job, one.body)] as const), set: (id) => (typed.value = { ...typed.value, body: id }) })
        : nothing}
      ${numberBox({ id: "new-fall-drop", label: say("plan.box.drop"), kind: "length", value: building.value.drop, needed: true, set: setDrop })}
      ${typedBox("along", "new-fall-along", "plan.box.along")}
      <div class="buttons">${button(say("plan.box.putFall"), put, "keep-fall")} ${button(say("plan.box.stop"), () => hand.letGo())}</div>`,
  );
}

/** Widths of a stream, under the boxes of its peg. */
export function streamWidthBoxes({ session }: Boxed, job: Job, selection: Selection): Template {
  const line = selection.body ? streamLine(job, selection.body) : null;
  const at = line?.outline.curve.pegs.findIndex((peg) => peg.id === selection.id) ?? -1;
  if (!line || at < 0) return nothing;
  const set = (peg: number | null) => (width: number | null): boolean =>
    width !== null && attempt(session, say("plan.label.width", { body: bodyName(job, line.body) }), widthOps(line, peg, width));
  const { widths } = line.outline;
  const same = widths.every((one) => one === widths[0]) ? (widths[0] ?? null) : null;
  return html`${numberBox({ id: "peg-width", label: say("plan.box.widthHere"), kind: "length", value: widths[at] ?? null, needed: true, set: set(at) })}
  ${numberBox({ id: "stream-width", label: say("plan.box.widthAll"), kind: "length", value: same, set: set(null) })}`;
}

function fallBox(boxed: Boxed, job: Job, selection: Selection): Template {
  const line = selection.body ? streamLine(job, selection.body) : null;
  const fall = line && fallsOf(line)[selection.at ?? 0];
  if (!line || !fall) return nothing;
  const number = fall.at + 1;
  const set = (key: "distance" | "drop") => (value: number | null): boolean =>
    value !== null && (key === "distance" || value > 0) && attempt(boxed.session, say("plan.label.changeFall", { number }), changeFallOps(line, fall.at, { [key]: value }));
  return framed(
    say("plan.box.fall", { number, body: bodyName(job, line.body) }),
    html`${numberBox({ id: "fall-drop", label: say("plan.box.drop"), kind: "length", value: fall.drop, needed: true, set: set("drop") })}
      ${numberBox({ id: "fall-along", label: say("plan.box.along"), kind: "length", value: fall.distance, needed: true, set: set("distance") })}
      ${buttons(boxed, null, selection)}`,
  );
}

function wayBoxes(boxed: Boxed, built: Built, way: Way): Template {
  const { change, setPart } = changes(boxed, built);
  const waterLine = boxed.session.waterLine.value;
  const isLine = way.place.at === "line";
  const kinds = isPoint(way.kind) ? [] : WAY_KINDS.filter((kind) => !isPoint(kind));
  const setKind = (kind: WayKind): void => void attempt(boxed.session, say("plan.label.changeBuilt", { name: nameOf(built) }), kindOps(built.id, way, kind));
  const levelName = way.kind === "wall" ? "plan.box.foot" : isLine && isRising(way.kind) ? "plan.box.startLevel" : "plan.box.level";
  return html`${kinds.length > 0 ? choiceBox({ id: "way-kind", label: say("plan.box.kind"), value: way.kind, of: kinds.map((kind) => [kind, say(`plan.way.${kind}`)] as const), set: setKind }) : nothing}
    ${textBox({ id: "way-name", label: say("plan.box.name"), value: way.name ?? "", set: (name) => change("name", name) })}
    ${isLine && way.kind !== "fence" ? numberBox({ id: "way-width", label: say("plan.box.width"), kind: "length", value: way.width ?? null, otherwise: shown(FIRST_WIDTHS[way.kind], "length"), set: setPart("width") }) : nothing}
    ${way.kind === "fence" || way.kind === "light" ? nothing : numberBox({ id: "way-level", label: say(levelName), kind: "elevation", value: way.level ?? null, waterLine, otherwise: say("plan.box.onGround"), set: setPart("level") })}
    ${isLine && isRising(way.kind) ? numberBox({ id: "way-end", label: say("plan.box.endLevel"), kind: "elevation", value: way.end_level ?? null, waterLine, otherwise: say("plan.box.sameLevel"), set: setPart("end_level") }) : nothing}
    ${way.kind === "steps" ? numberBox({ id: "way-riser", label: say("plan.box.mostRiser"), kind: "length", value: way.most_riser ?? null, otherwise: shown(MOST_RISER, "length"), set: setPart("most_riser") }) : nothing}
    ${way.kind === "wall" || way.kind === "bridge" || way.kind === "deck" ? numberBox({ id: "way-top", label: say("plan.box.top"), kind: "elevation", value: way.top ?? null, waterLine, otherwise: way.kind === "wall" ? say("plan.box.overGround") : "", set: setPart("top") }) : nothing}
    ${way.kind in FIRST_HEIGHTS && (way.top ?? null) === null ? numberBox({ id: "way-height", label: say(way.kind === "light" ? "plan.box.height" : "plan.box.standsHigh"), kind: "length", value: way.height ?? null, otherwise: shown(FIRST_HEIGHTS[way.kind] ?? 0, "length"), set: setPart("height") }) : nothing}
    ${way.kind === "fence" ? fenceBoxes(way, change) : nothing} ${way.kind === "light" ? aimBoxes(way, change) : nothing}
    <dl class="lines">${WAY_FIGURES.map((path) => figureLine(boxed.session, path.replace("*", built.id)))}</dl>`;
}

/** What is told of a way of any kind under its boxes, as far as it has it. */
const WAY_FIGURES = [
  ...["rise", "slope", "risers", "riser", "tread"].map((name) => `shape.built.rising.*.${name}`),
  ...["length", "height", "face"].map((name) => `shape.built.walls.*.${name}`),
  ...["length", "gate_width"].map((name) => `shape.built.fences.*.${name}`),
  ...["to_water", "throw"].map((name) => `shape.built.lights.*.${name}`),
];

/** Greatest height of a step where nothing is told [m]. */
const MOST_RISER = 0.15;

/** How much of a fence is open, and its gates. */
function fenceBoxes(way: Way, change: (property: string, value: Json) => boolean): Template {
  const gates = way.gates ?? [];
  const put = (next: readonly Gate[]): boolean => change("gates", next.length > 0 ? (next as unknown as Json) : null);
  const setGate = (at: number, part: keyof Gate) => (value: number | null): boolean => (value !== null || part === "width") && put(gates.with(at, { ...(gates[at] as Gate), [part]: value }));
  const add = (): void => void put([...gates, { distance: middleOf(way) }]);
  return html`${numberBox({ id: "fence-open", label: say("plan.box.open"), kind: "ratio", value: way.open_share ?? 0, needed: true, set: (share) => share !== null && change("open_share", share) })}
    <p class="quiet">${say("plan.box.openSay")}</p>
    ${gates.map(
      (gate, at) => html`<fieldset class="sees"><legend>${say("plan.box.gate", { number: at + 1 })}</legend>
        ${numberBox({ id: `gate-${at + 1}`, label: say("plan.box.gateAlong"), kind: "length", value: gate.distance, needed: true, set: setGate(at, "distance") })}
        ${numberBox({ id: `gate-${at + 1}-width`, label: say("plan.box.gateWidth"), kind: "length", value: gate.width ?? null, otherwise: shown(GATE_WIDTH, "length"), set: setGate(at, "width") })}
        ${button(say("plan.box.takeOut"), () => void put(gates.toSpliced(at, 1)), `gate-${at + 1}-out`)}</fieldset>`,
    )}
    <p>${button(say("plan.box.addGate"), add, "gate-add")}</p>`;
}

function middleOf(way: Way): number {
  return lengthAlong(pointsOf(way)) / 2;
}

/** What a light is aimed at: pressed on the plan. */
function aimBoxes(way: Way, change: (property: string, value: Json) => boolean): Template {
  const aim = way.aims_at ?? null;
  const ask = (): void =>
    pickPlace({
      title: say("plan.box.aimsAt"),
      looks: false,
      before: aim ? { place: [aim.east, aim.north], bearing: null } : null,
      take: ({ place: [east, north] }) => void change("aims_at", { east, north }),
    });
  return html`<p>${button(say("plan.box.aimsAt"), ask, "light-aim")} ${aim ? button(say("plan.box.aimsAway"), () => void change("aims_at", null)) : nothing}</p>`;
}

function moundBoxes(boxed: Boxed, built: Built, mound: Mound): Template {
  const { change, setPart } = changes(boxed, built);
  return html`${textBox({ id: "mound-name", label: say("plan.box.name"), value: mound.name ?? "", set: (name) => change("name", name) })}
    ${numberBox({ id: "mound-height", label: say("plan.box.height"), kind: "length", value: mound.height, needed: true, set: setPart("height") })}
    ${numberBox({ id: "mound-slope", label: say("plan.box.slope"), kind: "slope", value: mound.slope ?? null, set: setPart("slope") })}`;
}

function seatBoxes(boxed: Boxed, job: Job, built: Built, seat: Seat): Template {
  const { change, setPart } = changes(boxed, built);
  const figures = boxed.session.figures.value;
  const share = figures[`shape.views.seats.${built.id}.share`];
  const falls = figures[`shape.views.seats.${built.id}.falls_seen`];
  const everyFall = streamsOf(job).flatMap(fallsOf);
  return html`${choiceBox({ id: "seat-kind", label: say("plan.box.kind"), value: seat.kind ?? "seat", of: SEAT_KINDS.map((kind) => [kind, say(`plan.seat.${kind}`)] as const), set: (kind: SeatKind) => void change("kind", kind) })}
    ${textBox({ id: "seat-name", label: say("plan.box.name"), value: seat.name ?? "", set: (name) => change("name", name) })}
    ${numberBox({ id: "seat-eyes", label: say("plan.box.eyes"), kind: "length", value: seat.eye_height ?? null, otherwise: shown(EYES, "length"), set: setPart("eye_height") })}
    ${share === undefined
      ? nothing
      : html`<dl class="lines">
          <div class="line"><dt>${say("plan.box.seesNow")}</dt><dd data-testid="seat-share">${percent(share)}</dd></div>
          ${everyFall.length > 0 ? html`<div class="line"><dt>${fallsWords(boxed.fields.of("views").value?.field ?? null)}</dt><dd data-testid="seat-falls">${say("plan.box.fallsOf", { count: falls ?? 0, all: everyFall.length })}</dd></div>` : nothing}
          ${everyFall.map((fall) => figureLine(boxed.session, sharePath(built.id, fall), fallName(job, fall)))}
        </dl>`}
    ${looksAt(job, seat, (places) => change("looks_at", places as unknown as Json))}`;
}

/** Eyes of one who sits, which holds while the box is empty [m]. */
const EYES = 1.2;

/** What is to be seen from a seat: waters by tick, and places that are pressed on the plan. */
function looksAt(job: Job, seat: Seat, set: (places: readonly Place[] | null) => boolean): Template {
  const places = seat.looks_at ?? [];
  const waters = [null, ...Object.keys(job.shape.bodies ?? {})];
  const isWhole = (place: Place, body: string | null): boolean => place.at === "whole" && (place.body ?? null) === body;
  const put = (next: readonly Place[]): boolean => set(next.length > 0 ? next : null);
  const ticked = (body: string | null): Template =>
    tickBox({
      id: `sees-${body ?? "all"}`,
      label: body === null ? say("plan.box.seesAll") : bodyName(job, body),
      value: places.some((place) => isWhole(place, body)),
      set: (on) => void put(on ? [...places, body === null ? { at: "whole" } : { at: "whole", body }] : places.filter((place) => !isWhole(place, body))),
    });
  const ask = (): void => pickPlace({ title: say("plan.box.isToSee"), looks: false, before: null, take: ({ place: [east, north] }) => void put([...places, { at: "point", east, north }]) });
  return html`<fieldset class="sees"><legend>${say("plan.box.isToSee")}</legend>
    ${waters.map(ticked)}
    ${places.map((place, at) => (place.at === "whole" ? nothing : html`<div>${say("plan.box.seesThis", { number: at + 1 })} ${button(say("plan.box.takeOut"), () => void put(places.toSpliced(at, 1)))}</div>`))}
    ${button(say("plan.box.seesPlace"), ask)}
  </fieldset>`;
}

/** East and north of the chosen point. */
function placeBoxes({ hand }: Boxed, job: Job, selection: Selection): Template {
  const movable = movableOf(job, selection);
  if (!movable || selection.kind === "fall") return nothing;
  const [east, north] = movable.point;
  const move = (to: readonly [number | null, number | null]): boolean => {
    const [toEast, toNorth] = to;
    if (toEast === null || toNorth === null) return false;
    hand.typed((world) => pointTo(world, [toEast, toNorth]));
    return true;
  };
  return html`${numberBox({ id: "point-east", label: say("plan.box.east"), kind: "length", value: east, needed: true, set: (value) => move([value, north]) })}
  ${numberBox({ id: "point-north", label: say("plan.box.north"), kind: "length", value: north, needed: true, set: (value) => move([east, value]) })}`;
}

function buttons({ session, hand }: Boxed, built: Built | null = null, selection: Selection | null = null): Template {
  const several = selection?.kind === "fall" || (built !== null && pointsOf(built).length > 1);
  const onPoint = built !== null && several && selection?.at !== undefined;
  const all: Op[] = built === null ? [] : [{ op: "remove", path: builtPath(built.kind, built.id) }];
  const removeAll = (): void => {
    if (built && attempt(session, say("plan.label.remove", { id: nameOf(built) }), all)) session.selection.value = null;
  };
  return html`<div class="buttons">
    ${several
      ? html`${button(say(built ? "plan.box.beforePoint" : "plan.box.before"), () => hand.typed((world) => nextPoint(world, -1) ?? {}))}
          ${button(say(built ? "plan.box.nextPoint" : "plan.box.next"), () => hand.typed((world) => nextPoint(world, 1) ?? {}), "point-next")}`
      : nothing}
    ${button(say("plan.box.takeOut"), () => hand.typed((world) => movableOut(world) ?? {}), "point-delete")}
    ${onPoint ? button(say("plan.box.takeAll"), removeAll) : nothing} ${button(say("plan.box.letGo"), () => hand.letGo())}
  </div>`;
}

function changes({ session }: Boxed, built: Built): { change: (property: string, value: Json) => boolean; setPart: (property: string) => (value: number | null) => boolean } {
  const label = say("plan.label.changeBuilt", { name: nameOf(built) });
  const [section, id] = [`${built.kind}s`, built.id];
  const change = (property: string, value: Json): boolean => {
    const job = session.job.value;
    return job !== null && attempt(session, label, setOps(job, ["shape", section, id, property], value));
  };
  return { change, setPart: (property) => (value) => change(property, value) };
}

function typedBox(key: "east" | "north" | "along", id: string, word: "plan.box.east" | "plan.box.north" | "plan.box.along"): Template {
  const set = (value: number | null): boolean => {
    typed.value = { ...typed.value, [key]: value };
    return true;
  };
  return numberBox({ id, label: say(word), kind: "length", value: typed.value[key], set });
}

function framed(title: string, content: unknown): Template {
  return html`<form class="plan-box low" data-unfolded=${unfolded.value} data-testid="plan-box" aria-label=${title} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${title}</h3>
    <button type="button" class="unfold" data-testid="box-unfold" aria-expanded=${unfolded.value} @click=${() => (unfolded.value = !unfolded.value)}>${say("plan.box.typeIt")}</button>
    ${content}
  </form>`;
}

function button(words: string, press: () => void, id = ""): Template {
  return html`<button type="button" data-testid=${id || nothing} @click=${press}>${words}</button>`;
}

function bodyName(job: Job, body: string): string {
  return job.shape.bodies?.[body]?.name || body;
}
