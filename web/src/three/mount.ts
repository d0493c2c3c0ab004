/** The ground seen in the round, from outside or from a seat. Nothing depends on it: where WebGL is missing or lost, a notice says so. */

import { type TemplateResult, html, nothing, render } from "lit";
import { followSize, rootIn } from "../charts/drawn";
import { inkOf } from "../charts/ink";
import { heightText } from "../charts/picture";
import { shortFactor } from "../charts/scale";
import "../charts/views.css";
import { say } from "../format/words";
import { Fields } from "../plan/fields";
import { maskName, maskOf } from "../plan/masks";
import type { Session } from "../state/session";
import { heights, look, units } from "../state/settings";
import { effect, untracked } from "../state/signal";
import { areasOf, bandFaces, facesOf, rimLines } from "./built";
import { isFree } from "./free-sight";
import { Hands } from "./hands";
import { type Head, headByKey, headNearer, pulled } from "./head";
import { Choices, LAYERS, outsideTools, seatChoice, seatTools } from "./head-row";
import { SeatLabels } from "./labels";
import { ARRAYS, RoundModel } from "./model";
import { type Eye, FROM_ABOVE, FROM_SOUTH, nearer, turned, turnedByKey } from "./orbit";
import { GroundScene, type Layer, NoWebGl, type Projection } from "./scene";
import { type Spot, type Water, seatFaces, spotsOf } from "./seats";
import { Sitting } from "./sitting";
import { solidsOf } from "./stones";
import { type Surface, reachOf } from "./terrain";
import { thingFaces } from "./things";
import { toldOf } from "./told";

/** In a drag it is drawn so often at most, and coarsely; in full so long after the last change [ms]. */
const DRAG_MS = 250;
const REST_MS = 300;
const COARSE = 100;
const FULL = 400;
const FULL_SOFTWARE = 160;
const TURN_PER_PIXEL = 0.008;
/** Who sits sees neither the ground of before nor an edge that the stones cover. */
const HIDDEN_FROM_A_SEAT: ReadonlySet<Layer> = new Set(["old", "liner"]);

export function mountThree(host: HTMLElement, session: Session): () => void {
  return new RoundView(host, session).dispose;
}

class RoundView {
  private scene: GroundScene | null = null;
  private state: "fine" | "missing" | "lost" = "fine";
  private readonly software = isSoftware();
  private readonly choices = new Choices();
  private readonly model = new RoundModel();
  private readonly fields: Fields;
  private spots: readonly Spot[] = [];
  private readonly labels = new SeatLabels();
  private readonly sitting = new Sitting();
  private readonly hands: Hands;
  private settled = "";
  private lastDrawn = 0;
  private timer = 0;
  private stage: HTMLElement | null = null;
  private stopSize: () => void = () => undefined;
  private readonly stops: readonly (() => void)[];

  private readonly host: HTMLElement;

  constructor(
    place: HTMLElement,
    private readonly session: Session,
  ) {
    this.host = rootIn(place);
    this.fields = new Fields(session);
    this.hands = new Hands({ pulled: this.pulled, closer: this.closer, pressed: this.pressed, isOver: (x, y) => this.seatUnder(x, y) !== null });
    for (const name of ARRAYS) session.want(name, true, "three");
    this.open();
    this.stops = [
      effect(() => this.follow()),
      effect(() => this.dress()),
      effect(() => session.want("seen", this.seatInHand() !== null, "three")),
      this.fields.stop,
    ];
  }

  readonly dispose = (): void => {
    for (const stop of this.stops) stop();
    this.sitting.stand();
    window.clearTimeout(this.timer);
    this.stopSize();
    this.scene?.dispose();
    for (const name of [...ARRAYS, "seen"]) this.session.want(name, false, "three");
    this.host.remove();
  };

  private open(): void {
    this.state = "fine";
    try {
      this.scene = new GroundScene(this.software);
      this.scene.canvas.addEventListener("webglcontextlost", this.lose);
      this.scene.drawn = this.label;
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

  // What is drawn, and when.

  /** Take what a frame brings; draw it soon when it is coarse, and in full when the hand is still. */
  private follow(): void {
    const frame = this.session.frame.value;
    void [this.session.shown.value, this.session.selection.value];
    if (frame) this.model.take(frame);
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

  /** Follow look, units, layers and vertical scale. */
  private dress(): void {
    void [look.value, units.value, heights.value];
    this.choices.follow();
    untracked(() => {
      this.paint();
      this.update(FULL);
    });
  }

  private update(most: number): void {
    untracked(() => this.drawGround(most));
  }

  private drawGround(most: number): void {
    const { scene, model, sitting } = this;
    if (most !== COARSE) model.guessAgain();
    const drawn = model.drawn();
    if (!scene || !drawn) return;
    this.lastDrawn = performance.now();
    const job = this.session.shown.value;
    // Where a seat is gone, nobody sits on it any more.
    if (job && sitting.seat.value !== null && !(sitting.seat.value in (job.shape.seats ?? {}))) sitting.stand();
    const sits = sitting.seat.value !== null;
    const { surface, old } = drawn;
    const ink = inkOf(this.host);
    const waters = model.waters(this.session);
    this.settle(scene, surface, waters, most);
    const { layers, stretch } = this.choices;
    const areas = model.part && job && layers.ways.value ? { part: model.part, rings: areasOf(job) } : null;
    scene.showGround(surface, { old, areas, guess: model.guess, faint: sits }, most === FULL && this.software && !sits ? FULL_SOFTWARE : most, ink);
    if (old && most !== COARSE) scene.showOld(old, surface, ink);
    scene.showWater(waters, ink);
    this.drawBuilt(scene, waters, most);
    scene.showLiner(rimLines(model.rims), ink);
    scene.paper(ink.paper);
    scene.stretch(stretch.value);
    for (const layer of LAYERS) scene.show(layer, layers[layer].value && !(sits && HIDDEN_FROM_A_SEAT.has(layer)));
    scene.redraw();
    this.paint();
  }

  /** What is looked at stays put while the water is changed; it moves only with the grid. */
  private settle(scene: GroundScene, surface: Surface, waters: readonly Water[], most: number): void {
    const { origin_east, origin_north, columns, rows, spacing } = surface.grid;
    const where = [origin_east, origin_north, Math.round(spacing * (columns - 1)), Math.round(spacing * (rows - 1)), waters.length].join(" ");
    if (this.settled !== "" && (where === this.settled || most === COARSE)) return;
    this.settled = where;
    const [low, high] = reachOf(surface);
    scene.settle(surface, waters, waters[0]?.level ?? (low + high) / 2);
  }

  /** What stands on the ground that was just drawn, and who looks from where. */
  private drawBuilt(scene: GroundScene, waters: readonly Water[], most: number): void {
    const ink = inkOf(this.host);
    const job = this.session.shown.value;
    const ground = scene.groundAt;
    this.spots = job ? spotsOf(job, this.fields.of("views").value, waters, ground) : [];
    const from = this.from;
    scene.sitter = from && this.sitting.at(from);
    scene.showBuilt(job ? facesOf(job, ground) : [], job ? bandFaces(job, ground) : [], ink);
    scene.showSeats(seatFaces(this.spots.filter((spot) => spot !== from)), ink);
    scene.showThings(job ? thingFaces(job, ground, scene.isDrawn, from) : [], ink);
    const seat = this.seatInHand();
    const name = maskName(job, seat);
    const group = name === null ? null : this.fields.of(name).value;
    scene.showSeen(seat !== null && group ? maskOf(group, seat) : null, ink);
    if (most !== COARSE) scene.showStones(job ? solidsOf(job, this.model.runs, ground) : [], ink);
  }

  private readonly label = (project: Projection): void => {
    const { scene } = this;
    if (!scene) return;
    const eye = scene.eyePlace();
    const seat = this.sitting.seat.value;
    this.labels.show(this.choices.layers.seats.value ? this.spots.filter((spot) => spot.id !== seat && isFree(eye, spot.eye, scene.groundAt)) : [], project);
  };

  // Looking from a seat.

  private get from(): Spot | null {
    const seat = this.sitting.seat.value;
    return this.spots.find(({ id }) => id === seat) ?? null;
  }

  /** The seat whose view is told apart on the water: the one that is looked from, or the one chosen on the plan. */
  private seatInHand(): string | null {
    const selection = this.session.selection.value;
    return this.sitting.seat.value ?? (selection?.kind === "seat" ? selection.id : null);
  }

  private readonly choose = (seat: string | null): void => {
    const { sitting } = this;
    if (seat === sitting.seat.value) return;
    if (!window.matchMedia("(prefers-reduced-motion: reduce)").matches) this.scene?.fly();
    const hadFocus = this.host.contains(document.activeElement);
    if (seat === null) sitting.stand();
    else sitting.sit(seat);
    this.update(FULL);
    // What was pressed may be gone: then the picture takes the keys.
    if (hadFocus && !this.host.contains(document.activeElement)) this.host.querySelector<HTMLElement>(".round-stage")?.focus();
  };

  private readonly back = (): void => this.choose(null);

  private readonly straight = (): void => {
    if (this.sitting.straight) this.turnHead(this.sitting.straight);
  };

  private turnHead(head: Head): void {
    const { scene, sitting } = this;
    if (!scene?.sitter) return;
    sitting.head = head;
    scene.sitter = { ...scene.sitter, head };
    scene.redraw();
  }

  private look(eye: Eye): void {
    if (!this.scene) return;
    this.scene.eye = eye;
    this.scene.redraw();
  }

  // What hands and keys do.

  private readonly pulled = (right: number, down: number): void => {
    const { scene, sitting } = this;
    if (!scene) return;
    if (sitting.head) this.turnHead(pulled(sitting.head, right, down, scene.canvas.clientHeight, scene.aspect));
    else this.look(turned(scene.eye, -right * TURN_PER_PIXEL, down * TURN_PER_PIXEL));
  };

  private readonly closer = (factor: number): void => {
    if (this.sitting.head) this.turnHead(headNearer(this.sitting.head, factor));
    else if (this.scene) this.look(nearer(this.scene.eye, factor));
  };

  private readonly pressed = (x: number, y: number): void => {
    const seat = this.seatUnder(x, y);
    if (seat !== null) this.choose(seat);
  };

  private seatUnder(x: number, y: number): string | null {
    const box = this.scene?.canvas.getBoundingClientRect();
    return box ? this.labels.at(x - box.left, y - box.top) : null;
  }

  private readonly key = (event: KeyboardEvent): void => {
    const { scene, sitting } = this;
    if (sitting.head && sitting.straight) {
      const head = headByKey(sitting.head, event.key, sitting.straight);
      if (!head) return;
      event.preventDefault();
      return this.turnHead(head);
    }
    const eye = scene && turnedByKey(scene.eye, event.key);
    if (!eye) return;
    event.preventDefault();
    this.look(eye);
  };

  private readonly escape = (event: KeyboardEvent): void => {
    if (event.key !== "Escape" || this.sitting.seat.value === null) return;
    event.preventDefault();
    event.stopPropagation();
    this.back();
  };

  // The page round the picture.

  private paint(): void {
    render(this.template(), this.host);
    const stage = this.host.querySelector<HTMLElement>(".canvas-place");
    if (!stage || !this.scene || stage === this.stage) return;
    this.stage = stage;
    stage.append(this.scene.canvas, this.labels.element);
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
    const surface = this.model.told;
    const { from, hands } = this;
    const job = this.session.shown.value;
    return html`<section class="view round-view" aria-label=${say("below.three")} @keydown=${this.escape}>
      <header class="view-head">
        ${seatChoice(this.spots, from?.id ?? null, this.choose)}
        ${from ? seatTools(this.straight, this.back) : outsideTools(this.choices, () => this.look(FROM_SOUTH), () => this.look(FROM_ABOVE))}
      </header>
      <div class="round-body">
        <div class="round-stage" tabindex="0" role="application" aria-label=${from ? say("three.headPicture", { name: from.name }) : say("three.picture")} data-testid="round" data-seat=${from?.id ?? nothing}
          @keydown=${this.key} @pointerdown=${hands.press} @pointermove=${hands.move} @pointerup=${hands.drop} @pointercancel=${hands.drop}
          @wheel=${hands.wheel}><div class="canvas-place"></div>${surface ? nothing : html`<p class="view-none">${say("three.none")}</p>`}</div>
        ${from && job ? toldOf(this.session, job, from, this.fields.of("views").value?.field ?? null) : nothing}
      </div>
      <p class="view-says">${surface ? this.summary(surface, from) : ""}</p>
    </section>`;
  }

  private summary(surface: Surface, from: Spot | null): string {
    const guessed = this.model.guess ? [say("three.saysGuessed")] : [];
    if (from) return [say("three.saysSeat"), ...guessed].join(" ");
    const waterLine = this.session.waterLine.value;
    const [low, high] = reachOf(surface);
    const chosen = this.spots.find(({ id }) => id === this.seatInHand());
    return [
      say("three.says", { low: heightText(low, waterLine), high: heightText(high, waterLine), factor: shortFactor(this.choices.stretch.value) }),
      ...guessed,
      ...(chosen ? [say("three.saysMasked", { name: chosen.name })] : []),
      ...(this.spots.length > 0 ? [say("three.saysPress")] : []),
    ].join(" ");
  }
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
