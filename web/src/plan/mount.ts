/** Puts the plan into a place on the page. */

import "./plan.css";
import OlMap from "ol/Map";
import type View from "ol/View";
import type BaseLayer from "ol/layer/Base";
import DragPan from "ol/interaction/DragPan";
import MouseWheelZoom from "ol/interaction/MouseWheelZoom";
import PinchRotate from "ol/interaction/PinchRotate";
import PinchZoom from "ol/interaction/PinchZoom";
import { html, nothing } from "lit";
import { type Dispose, mountView } from "../panels/view";
import { lit } from "../state/desk";
import { isTest } from "../state/hook";
import type { Session } from "../state/session";
import { type Signal, effect, signal, untracked } from "../state/signal";
import { mountBox } from "./box";
import { type Seen, mountCorner, mountNorth, mountScale, mountTools } from "./controls";
import { Fields } from "./fields";
import { Hand } from "./hand";
import { followLook } from "./ink";
import { builtLayer } from "./layers/built";
import { banksLayer } from "./layers/banks";
import { bendLayer } from "./layers/bend";
import { boundsLayer, servicesLayer } from "./layers/bounds";
import { newContours, oldContours } from "./layers/contours";
import { cloudsLayer } from "./layers/clouds";
import { crestLayer } from "./layers/crest";
import { drainsLayer } from "./layers/drains";
import { flagsLayer } from "./layers/flags";
import { groundLayer } from "./layers/ground";
import { handLayer } from "./layers/hand";
import { flowLayer, headsLayer, routeLayer } from "./layers/heads";
import { linedLayer } from "./layers/lined";
import { linerLayer, rimLayer } from "./layers/liner";
import type { Desk, PlanLayer } from "./layers/layer";
import { haulArrows, haulsLayer } from "./layers/hauls";
import { nextLayer } from "./layers/next";
import { type PhotoLayer, photoLayer } from "./layers/photo";
import { probesLayer, waterMarksLayer } from "./layers/probes";
import { overflowLayer, reachLayer } from "./layers/reach";
import { seenLayer } from "./layers/seen";
import { shoreLayer } from "./layers/shore";
import { streamsLayer } from "./layers/streams";
import { stonesLayer, treatmentsLayer } from "./layers/stones";
import { shotsLayer, surveyLinesLayer } from "./layers/survey";
import { thingsLayer } from "./layers/things";
import { viewsLayer } from "./layers/views";
import { waterLayer } from "./layers/water";
import { wheelsLayer } from "./layers/wheels";
import { followWords } from "./layers/words";
import { followFound } from "./located";
import { pointed } from "./mark";
import { pointing } from "./pointing";
import { openProbe } from "./probe";
import { onDrawn } from "./redraw";
import { crossingsOf, ringsOf } from "./rings";
import { say } from "./say";
import { askForShown, shownLayers } from "./shown-layers";
import { PlanView } from "./view";

/** Show the plan of an open job; returns what takes it away again. */
export function mountPlan(host: HTMLElement, session: Session): Dispose {
  host.innerHTML = `<div class="plan-map" tabindex="0" role="application" data-testid="plan"></div>
    <div class="plan-top"><div class="plan-tools"></div><div class="plan-boxes" hidden></div></div>
    <div class="plan-foot"><div class="plan-says"></div><div class="plan-corner"></div></div>`;
  const part = (name: string): HTMLElement => host.querySelector<HTMLElement>(`.plan-${name}`) as HTMLElement;
  const target = part("map");
  target.setAttribute("aria-label", say("plan.name"));

  const planView = new PlanView(() => map);
  const view = planView.view;
  const shown = shownLayers();
  const fields = new Fields(session);
  const hand = new Hand(session, () => view.getRotation(), () => shown.layers.checks.value, () => shown.layers.views.value, () => haulArrows({ fields, shown }));
  const sources = { session, fields, shown, sketch: hand.sketch, mark: hand.mark };
  const written = followWords(sources);
  const desk: Desk = { ...sources, words: written.words };
  const stopLook = followLook();
  const photos = photoLayer(desk, () => windowOf(map));
  // Maps under one view, each drawn only when something on it has changed: what was found stays as it
  // is during a drag, the earth follows each answer, and only the shore follows each move of the hand.
  const sheets = [foundSheet(desk, photos), earthSheet(desk), shoreSheet(desk), siteSheet(desk)] as const;
  const [found, earth, map, site] = [
    mapOf(target, view, sheets[0]),
    mapOf(target, view, sheets[1]),
    mapOf(target, view, sheets[2]),
    mapOf(target, view, sheets[3]),
  ] as const;
  const maps = [found, earth, map, site];
  map.getTargetElement()?.classList.add("takes-pointer");
  const turn = new PinchRotate();
  for (const interaction of [new DragPan(), new MouseWheelZoom(), new PinchZoom(), turn, pointing(hand)]) map.addInteraction(interaction);
  const seen: Signal<Seen> = signal({ resolution: 1, rotation: 0 });
  const stops: Dispose[] = [
    stopLook,
    written.stop,
    fields.stop,
    hand.stop,
    askForShown(session, shown),
    followFound(session, fields),
    ...maps.map(drawnAtOnce),
    effect(() => turn.setActive(planView.turning.value)),
    followSeen(map, seen),
    followJob(map, planView, session),
    followLit(planView),
    listenToKeys(target, hand, planView, session),
    mountTools(part("tools")),
    mountBox(part("boxes"), { session, hand, photos, fields }),
    mountCorner(part("corner"), { planView, session, shown }),
    mountSays(part("says"), hand, session),
    ...mountFurniture(host, session, seen),
    ...sheets.flat().map((one) => one.stop),
  ];
  if (isTest) openProbe(map, session);
  return () => {
    for (const stop of stops) stop();
    pointed.value = null;
    for (const one of maps) {
      one.setTarget(undefined);
      one.dispose();
    }
    host.replaceChildren();
  };
}

/** The ground as found. */
function foundSheet(desk: Desk, photos: PhotoLayer): readonly PlanLayer[] {
  return [photos, oldContours(desk), surveyLinesLayer(desk)];
}

/** The earth as the server works it out. */
function earthSheet(desk: Desk): readonly PlanLayer[] {
  return [groundLayer(desk), newContours(desk), headsLayer(desk), flowLayer(desk)];
}

/** The shore as the hand bends it. */
function shoreSheet(desk: Desk): readonly PlanLayer[] {
  return [waterLayer(desk), streamsLayer(desk), seenLayer(desk), bendLayer(desk), linerLayer(desk), treatmentsLayer(desk), banksLayer(desk), crestLayer(desk), reachLayer(desk), shoreLayer(desk), rimLayer(desk), overflowLayer(desk), builtLayer(desk), wheelsLayer(desk), handLayer(desk)];
}

/** What stands on site, was shot, or wants a look: written over the colours of the design. */
function siteSheet(desk: Desk): readonly PlanLayer[] {
  return [cloudsLayer(desk), boundsLayer(desk), servicesLayer(desk), stonesLayer(desk), thingsLayer(desk), routeLayer(desk), drainsLayer(desk), linedLayer(desk), shotsLayer(desk), probesLayer(desk), waterMarksLayer(desk), haulsLayer(desk), nextLayer(desk), viewsLayer(desk), flagsLayer(desk)];
}

function mapOf(host: HTMLElement, view: View, layers: readonly PlanLayer[]): OlMap {
  const target = document.createElement("div");
  target.className = "plan-sheet";
  host.append(target);
  return new OlMap({ target, view, layers: layers.map((one): BaseLayer => one.layer), controls: [], interactions: [] });
}

/** Bring a change of a map to the screen in the frame in which it was drawn, not in the next one. */
function drawnAtOnce(map: OlMap): Dispose {
  let isChanged = true;
  const layers = map.getLayerGroup();
  const change = (): void => {
    isChanged = true;
  };
  layers.on("change", change);
  const stop = onDrawn(() => {
    if (isChanged) map.renderSync();
    isChanged = false;
  });
  return () => {
    layers.un("change", change);
    stop();
  };
}

function windowOf(map: OlMap): { middle: readonly [number, number]; width: number } {
  const [east = 0, north = 0] = map.getView().getCenter() ?? [];
  return { middle: [east, north], width: (map.getSize()?.[0] ?? 800) * (map.getView().getResolution() ?? 0.1) };
}

/** Scale bar and north go into the title strip where the page has one. */
function mountFurniture(host: HTMLElement, session: Session, seen: Signal<Seen>): Dispose[] {
  const slot = (name: string): HTMLElement => {
    const found = host.closest(".job")?.querySelector<HTMLElement>(`[data-slot="${name}"]`);
    if (found) return found;
    const own = document.createElement("div");
    host.querySelector(".plan-foot")?.prepend(own);
    return own;
  };
  return [mountScale(slot("scale"), seen), mountNorth(slot("north"), session, seen)];
}

function mountSays(host: HTMLElement, hand: Hand, session: Session): Dispose {
  return mountView(host, () => {
    const job = session.shown.value;
    const crosses = job !== null && ringsOf(job).some((ring) => crossingsOf(ring).length > 0);
    const words = hand.says.value;
    // While something moves, a reader of the screen is not talked over.
    const live = session.preview.value === null ? "polite" : "off";
    return html`<div role="status" aria-live=${live} data-testid="plan-says">
      ${words ? html`<p>${words}</p>` : nothing} ${crosses ? html`<p class="fault">${say("plan.crosses")}</p>` : nothing}
    </div>`;
  });
}

function followSeen(map: OlMap, seen: Signal<Seen>): Dispose {
  const look = (): void => {
    const view = map.getView();
    const next = { resolution: view.getResolution() ?? 1, rotation: view.getRotation() };
    if (next.resolution !== seen.value.resolution || next.rotation !== seen.value.rotation) seen.value = next;
  };
  map.on("postrender", look);
  return () => map.un("postrender", look);
}

/** The first look at a job is at its water. */
function followJob(map: OlMap, planView: PlanView, session: Session): Dispose {
  let isShown = false;
  const look = (): void => {
    const job = session.shown.value;
    const [width = 0, height = 0] = map.getSize() ?? [];
    if (isShown || job === null || width < 2 || height < 2) return;
    isShown = planView.toWater(job);
  };
  map.on("change:size", look);
  const stop = effect(look);
  return () => {
    map.un("change:size", look);
    stop();
  };
}

function followLit(planView: PlanView): Dispose {
  return effect(() => {
    const places = lit.value;
    untracked(() => planView.bringIn(places));
  });
}

const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
};

function listenToKeys(target: HTMLElement, hand: Hand, planView: PlanView, session: Session): Dispose {
  const pressed = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.target !== target) return;
    const up = event.type === "keyup";
    const taken = hand.key({ key: event.key, shift: event.shiftKey, up }) || (!up && moveView(event.key, planView, session));
    if (!taken) return;
    event.preventDefault();
    event.stopPropagation();
  };
  target.addEventListener("keydown", pressed);
  target.addEventListener("keyup", pressed);
  return () => {
    target.removeEventListener("keydown", pressed);
    target.removeEventListener("keyup", pressed);
  };
}

function moveView(key: string, planView: PlanView, session: Session): boolean {
  const arrow = ARROWS[key];
  const job = session.shown.value;
  if (arrow) planView.pan(...arrow);
  else if (key === "+" || key === "=") planView.zoom(1);
  else if (key === "-") planView.zoom(-1);
  else if (key === "Home" && job) planView.toWater(job);
  else if (key === "End" && job) planView.toAll(job);
  else return false;
  return true;
}
