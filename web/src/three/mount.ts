/** The ground seen in the round. Nothing depends on it: where WebGL is missing or lost, a notice says so. */

import { type TemplateResult, html, nothing, render } from "lit";
import type { Frame } from "../api/frame";
import { followSize, rootIn } from "../charts/drawn";
import { inkOf } from "../charts/ink";
import { levelOf } from "../charts/heights";
import { heightText } from "../charts/picture";
import { shortFactor } from "../charts/scale";
import "../charts/views.css";
import { say } from "../format/words";
import { type RimTold, rimsOf } from "../plan/lining-fields";
import { type StoneRun, runsTold } from "../plan/stone-fields";
import { type Reach, reachesOf } from "../plan/reaches";
import { ringsOf, sampledRing } from "../plan/rings";
import type { Session } from "../state/session";
import { heights, look, units } from "../state/settings";
import { effect, signal, untracked } from "../state/signal";
import { facesOf, rimLines } from "./built";
import { type Eye, FROM_ABOVE, FROM_SOUTH, nearer, turned, turnedByKey } from "./orbit";
import { GroundScene, type Layer, NoWebGl, type WaterPlane } from "./scene";
import { solidsOf } from "./stones";
import { type Surface, heightNear, reachOf } from "./terrain";

/** In a drag it is drawn so often at most, and coarsely; in full so long after the last change [ms]. */
const DRAG_MS = 250;
const REST_MS = 300;
const COARSE = 100;
const FULL = 400;
const FULL_SOFTWARE = 160;
const STRETCHES = [1, 2, 3, 5] as const;
const LAYERS: readonly Layer[] = ["old", "new", "water", "ways", "liner", "stones"];
const ARRAYS = ["z", "ground", "part", "streams", "liner_rim", "stone_runs"];
const TURN_PER_PIXEL = 0.008;

export function mountThree(host: HTMLElement, session: Session): () => void {
  return new RoundView(host, session).dispose;
}

class RoundView {
  private scene: GroundScene | null = null;
  private state: "fine" | "missing" | "lost" = "fine";
  private readonly software = isSoftware();
  private readonly stretch = signal(2);
  private readonly layers: Readonly<Record<Layer, { value: boolean }>> = { old: signal(true), new: signal(true), water: signal(true), ways: signal(true), liner: signal(true), stones: signal(true) };
  private old: Surface | null = null;
  private fresh: Surface | null = null;
  private part: Surface | null = null;
  private reaches: readonly Reach[] = [];
  private rims: readonly RimTold[] = [];
  private runs: readonly StoneRun[] = [];
  private settled = "";
  private lastDrawn = 0;
  private timer = 0;
  private readonly fingers = new Map<number, PointerEvent>();
  private stage: HTMLElement | null = null;
  private stopSize: () => void = () => undefined;
  private readonly stops: readonly (() => void)[];

  private readonly host: HTMLElement;

  constructor(
    place: HTMLElement,
    private readonly session: Session,
  ) {
    this.host = rootIn(place);
    for (const name of ARRAYS) session.want(name, true, "three");
    this.open();
    this.stops = [effect(() => this.follow()), effect(() => this.dress())];
  }

  readonly dispose = (): void => {
    for (const stop of this.stops) stop();
    window.clearTimeout(this.timer);
    this.stopSize();
    this.scene?.dispose();
    for (const name of ARRAYS) this.session.want(name, false, "three");
    this.host.remove();
  };

  private open(): void {
    this.state = "fine";
    try {
      this.scene = new GroundScene(this.software);
      this.scene.canvas.addEventListener("webglcontextlost", this.lose);
    } catch (fault) {
      if (!(fault instanceof NoWebGl)) throw fault;
      this.state = "missing";
    }
    this.settled = "";
  }

  private readonly lose = (event: Event): void => {
    event.preventDefault();
    this.stopSize();
    this.stage = null;
    this.scene?.dispose();
    this.scene = null;
    this.state = "lost";
    this.paint();
  };

  private readonly again = (): void => {
    this.open();
    this.paint();
    this.update(FULL);
  };

  /** Take what a frame brings; draw it soon when it is coarse, and in full when the hand is still. */
  private follow(): void {
    const frame = this.session.frame.value;
    void this.session.shown.value;
    if (frame) this.take(frame);
    const moving = this.session.preview.value !== null || frame?.header.lod !== 1;
    untracked(() => this.paint());
    window.clearTimeout(this.timer);
    if (this.lastDrawn === 0) return this.update(FULL);
    if (!moving) {
      this.timer = window.setTimeout(() => this.update(FULL), REST_MS);
      return;
    }
    const wait = DRAG_MS - (performance.now() - this.lastDrawn);
    if (wait <= 0) this.update(COARSE);
    else this.timer = window.setTimeout(() => this.update(COARSE), wait);
  }

  private take(frame: Frame): void {
    const { grid } = frame.header;
    const { z, ground, part, streams_points: points, streams_starts: starts, streams_levels: levels } = frame.fields;
    this.rims = rimsOf(frame) ?? this.rims;
    this.runs = runsTold(frame) ?? this.runs;
    if (grid && part?.shape[1] === grid.columns) this.part = { field: part, grid };
    if (points && starts && levels) this.reaches = reachesOf({ field: points, head: points.head, grid }, { field: starts, head: starts.head, grid }, { field: levels, head: levels.head, grid });
    if (grid && z?.shape[1] === grid.columns) this.fresh = { field: z, grid };
    if (grid && ground?.shape[1] === grid.columns) this.old = { field: ground, grid };
  }

  private update(most: number): void {
    untracked(() => this.drawGround(most));
  }

  private drawGround(most: number): void {
    const { scene } = this;
    const surface = this.fresh ?? this.old;
    if (!scene || !surface) return;
    this.lastDrawn = performance.now();
    const ink = inkOf(this.host);
    const planes = this.waterPlanes();
    // What is looked at stays put while the water is changed; it moves only with the grid.
    const { origin_east, origin_north, columns, rows, spacing } = surface.grid;
    const where = [origin_east, origin_north, Math.round(spacing * (columns - 1)), Math.round(spacing * (rows - 1)), planes.length].join(" ");
    if (this.settled === "" || (where !== this.settled && most !== COARSE)) {
      this.settled = where;
      const [low, high] = reachOf(surface);
      scene.settle(surface, planes, planes[0]?.level ?? (low + high) / 2);
    }
    scene.showGround(surface, this.old, this.layers.ways.value ? this.part : null, most === FULL && this.software ? FULL_SOFTWARE : most, ink);
    if (this.old && most !== COARSE) scene.showOld(this.old, this.fresh, ink);
    scene.showWater(planes, ink);
    const job = this.session.shown.value;
    scene.showBuilt(job ? facesOf(job, (east, north) => heightNear(surface, east, north)) : [], ink);
    scene.showLiner(rimLines(this.rims), ink);
    if (most !== COARSE) scene.showStones(job ? solidsOf(job, this.runs, (east, north) => heightNear(surface, east, north)) : [], ink);
    scene.paper(ink.paper);
    scene.stretch(this.stretch.value);
    for (const layer of LAYERS) scene.show(layer, this.layers[layer].value);
    scene.redraw();
  }

  private waterPlanes(): WaterPlane[] {
    return untracked(() => {
      const job = this.session.shown.value;
      if (!job) return [];
      const rings = ringsOf(job).filter(({ open }) => !open);
      const streams = this.reaches.filter(({ body }) => job.shape.bodies?.[body]?.outline.form === "corridor");
      const ponds = Object.keys(job.shape.bodies ?? {}).flatMap((body): WaterPlane[] => {
        const level = levelOf(job, this.session.figures.value, body);
        const own = rings.filter((ring) => ring.body === body).map((ring) => sampledRing(ring)?.points ?? []);
        return level === null || own.length === 0 ? [] : [{ rings: own, level }];
      });
      return [...ponds, ...streams.map(({ ring, level }) => ({ rings: [ring], level }))];
    });
  }

  /** Follow look, units, layers and vertical scale. */
  private dress(): void {
    void [look.value, units.value, heights.value, this.stretch.value];
    for (const layer of LAYERS) void this.layers[layer].value;
    untracked(() => {
      this.paint();
      this.update(FULL);
    });
  }

  private paint(): void {
    render(this.template(), this.host);
    const stage = this.host.querySelector<HTMLElement>(".canvas-place");
    if (!stage || !this.scene || stage === this.stage) return;
    this.stage = stage;
    stage.append(this.scene.canvas);
    this.stopSize();
    this.stopSize = followSize(stage, (width, height) => {
      if (width < 2 || height < 2) return;
      this.scene?.resize(width, height);
      this.scene?.redraw();
    });
  }

  private template(): TemplateResult {
    if (this.state === "missing") return html`<section class="view round-view"><p class="view-none" role="status" data-testid="no-webgl">${say("three.noWebgl")}</p></section>`;
    if (this.state === "lost") {
      return html`<section class="view round-view"><p class="view-none" role="status">${say("three.lost")}
        <button type="button" @click=${this.again}>${say("three.again")}</button></p></section>`;
    }
    const surface = this.fresh ?? this.old;
    const names = { old: say("three.old"), new: say("three.new"), water: say("three.water"), ways: say("three.ways"), liner: say("three.liner"), stones: say("three.stones") };
    return html`<section class="view round-view" aria-label=${say("below.three")}>
      <header class="view-head">
        <fieldset><legend class="unseen">${say("three.layers")}</legend>
          ${LAYERS.map((layer) => html`<label><input type="checkbox" ?checked=${this.layers[layer].value}
            @change=${(event: Event) => void (this.layers[layer].value = (event.target as HTMLInputElement).checked)} />${names[layer]}</label>`)}
        </fieldset>
        <label>${say("three.stretch")}
          <select @change=${(event: Event) => void (this.stretch.value = Number((event.target as HTMLSelectElement).value))}>
            ${STRETCHES.map((factor) => html`<option value=${factor} ?selected=${factor === this.stretch.value}>× ${factor}</option>`)}
          </select></label>
        <span class="view-tools">
          <button type="button" @click=${() => this.look(FROM_SOUTH)}>${say("three.home")}</button>
          <button type="button" @click=${() => this.look(FROM_ABOVE)}>${say("three.above")}</button>
        </span>
      </header>
      <div class="round-stage" tabindex="0" role="application" aria-label=${say("three.picture")} data-testid="round"
        @keydown=${this.key} @pointerdown=${this.press} @pointermove=${this.turn} @pointerup=${this.drop} @pointercancel=${this.drop}
        @wheel=${this.wheel}><div class="canvas-place"></div>${surface ? nothing : html`<p class="view-none">${say("three.none")}</p>`}</div>
      <p class="view-says">${surface ? this.summary(surface) : ""}</p>
    </section>`;
  }

  private summary(surface: Surface): string {
    const waterLine = this.session.waterLine.value;
    const [low, high] = reachOf(surface);
    return say("three.says", { low: heightText(low, waterLine), high: heightText(high, waterLine), factor: shortFactor(this.stretch.value) });
  }

  private look(eye: Eye): void {
    if (!this.scene) return;
    this.scene.eye = eye;
    this.scene.redraw();
  }

  private readonly key = (event: KeyboardEvent): void => {
    const next = this.scene && turnedByKey(this.scene.eye, event.key);
    if (!next) return;
    event.preventDefault();
    this.look(next);
  };

  private readonly wheel = (event: WheelEvent): void => {
    event.preventDefault();
    if (this.scene) this.look(nearer(this.scene.eye, 1.0015 ** -event.deltaY));
  };

  private readonly press = (event: PointerEvent): void => {
    (event.currentTarget as Element).setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, event);
  };

  private readonly turn = (event: PointerEvent): void => {
    const before = this.fingers.get(event.pointerId);
    if (!before || !this.scene) return;
    const other = [...this.fingers.values()].find(({ pointerId }) => pointerId !== event.pointerId);
    this.fingers.set(event.pointerId, event);
    if (other) this.look(nearer(this.scene.eye, apart(event, other) / Math.max(apart(before, other), 1)));
    else this.look(turned(this.scene.eye, -(event.clientX - before.clientX) * TURN_PER_PIXEL, (event.clientY - before.clientY) * TURN_PER_PIXEL));
  };

  private readonly drop = (event: PointerEvent): void => {
    this.fingers.delete(event.pointerId);
  };
}

function apart(one: PointerEvent, other: PointerEvent): number {
  return Math.max(Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY), 1);
}

/** Whether WebGL is drawn by the processor, so that fewer triangles and no smoothing are right. */
function isSoftware(): boolean {
  const probe = document.createElement("canvas").getContext("webgl2");
  if (!probe) return true;
  const names = probe.getExtension("WEBGL_debug_renderer_info");
  const renderer = names ? String(probe.getParameter(names.UNMASKED_RENDERER_WEBGL)) : "";
  probe.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|software/i.test(renderer);
}
