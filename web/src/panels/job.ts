/** One open job: its bar, its four screens, its rooms, and the title strip along the bottom. */

import { html, nothing } from "lit";
import { said, say } from "../format/words";
import { shown } from "../format/shown";
import { fetchCatalogue } from "../state/catalogue";
import { tried } from "../state/changes";
import { type Leaf, bodyInHand, closeLeaves, leaves, lit, notice, openLeaf, spoken } from "../state/desk";
import { fetchPhotos, forgetPhotos } from "../state/photos";
import { type Screen, SCREENS, jobAddress, route } from "../state/route";
import { fetchSchema } from "../state/schema";
import { narrow } from "../state/narrow";
import { Session } from "../state/session";
import { UNITS, author, heights, look, belowTall, stripOpen, units } from "../state/settings";
import { type Signal, effect, signal, untracked } from "../state/signal";
import { tool } from "../state/tool";
import { profileAsked } from "../state/water-shown";
import { fetchWalk } from "../state/walk";
import { choiceBox } from "./boxes";
import { checkList } from "./checks";
import { mountField } from "./field";
import { bodyShown, cornerBlock, cornerSentence } from "./figures";
import { mountLeaf } from "./leaf";
import { guardPhoto, keepWaiting, photoWaits } from "./photos";
import { mountPapers } from "./papers";
import { type PartName, mountPart } from "./parts";
import { mountTables } from "./tables";
import { type Dispose, type Template, mountView } from "./view";

type Below = Exclude<PartName, "plan">;

const BELOW: readonly Below[] = ["strip", "section", "storage", "drain", "three"];
const ROOMS = ["site", "shape", "earth", "groundwater", "liner", "stone", "water", "life", "works", "papers", "field", "care"] as const;
/** Rooms that open beside the plan. */
const LEAF_ROOMS = ["site", "shape", "earth", "groundwater", "liner", "stone"] as const;
type LeafRoom = (typeof LEAF_ROOMS)[number];

/** Open a job in a place on the page. */
export function mountJob(host: HTMLElement, id: string): { readonly session: Session; readonly dispose: Dispose } {
  const session = new Session(id, untracked(() => author.value));
  closeLeaves();
  bodyInHand.value = null;
  tool.value = "select";
  host.innerHTML = `<div class="job">
    <header data-part="bar"></header>
    <nav data-part="rooms" class="rooms"></nav>
    <main id="work" tabindex="-1" data-part="screen"></main>
    <aside data-part="leaf" class="leaf" hidden></aside>
    <footer class="strip">
      <nav data-part="room-bar" class="room-bar"></nav>
      <div data-part="title"></div>
      <div class="slot" data-slot="scale"></div>
      <div class="slot" data-slot="north"></div>
    </footer>
  </div>`;
  const part = (name: string): HTMLElement => host.querySelector<HTMLElement>(`[data-part="${name}"]`) as HTMLElement;
  const stops: Dispose[] = [
    mountView(part("bar"), () => bar(session)),
    mountView(part("rooms"), () => rooms(session)),
    mountView(part("room-bar"), () => roomBar(session)),
    mountView(part("title"), () => titleStrip(session)),
    mountLeaf(part("leaf"), session),
    mountScreen(part("screen"), session),
    keys(session),
    welcome(session),
    aloud(session),
    guardPhoto(),
    effect(() => session.rename(author.value)),
    planInSight(part("screen")),
  ];
  void fetchCatalogue();
  void fetchSchema();
  void fetchWalk();
  // Without the photos the plan is whole but for their marks; their page says why they did not come.
  fetchPhotos(id).catch(() => {});
  return {
    session,
    dispose: () => {
      for (const stop of stops) stop();
      keepWaiting();
      closeLeaves();
      lit.value = [];
      forgetPhotos();
      session.close();
      host.replaceChildren();
    },
  };
}

function screenNow(): Screen {
  return route.value.at === "job" ? route.value.screen : "plan";
}

// The bar.

function bar(session: Session): Template {
  const job = session.job.value;
  const screen = screenNow();
  const undo = session.undoable.value.at(-1)?.label;
  const redo = session.redoable.value.at(-1)?.label;
  return html`<a class="button" href="#/jobs">${say("jobs.title")}</a>
    <h1>${job?.name ?? (session.ended.value === null ? say("job.loading") : said(session.ended.value))}${job?.demo ? html` <small>${say("app.invented")}</small>` : nothing}</h1>
    <nav class="screens" aria-label=${say("job.screens")}>
      ${SCREENS.map((one) => html`<a href=${jobAddress(session.id, one)} data-testid="screen-${one}" aria-current=${one === screen ? "page" : nothing}>${say(`job.${one}`)}</a>`)}
    </nav>
    <div class="tasks">
      <button type="button" data-testid="undo" title=${undo ? say("job.undoWhat", { what: undo }) : say("job.nothingToUndo")} ?disabled=${undo === undefined} @click=${() => tried(() => session.undo())}>
        ${say("job.undo")}${undo ? html`<span class="what">${undo}</span>` : nothing}
      </button>
      <button type="button" data-testid="redo" title=${redo ? say("job.redoWhat", { what: redo }) : say("job.nothingToRedo")} ?disabled=${redo === undefined} @click=${() => tried(() => session.redo())}>
        ${say("job.redo")}${redo ? html`<span class="what">${redo}</span>` : nothing}
      </button>
      <button type="button" data-testid="history" @click=${() => openLeaf({ kind: "history" })}>${say("job.history")}</button>
      ${photoWaits(session.id) ? html`<button type="button" class="warn" data-testid="photo-waits" @click=${() => enterPage(session, "photos")}>${say("photos.waits")}</button>` : nothing}
      ${session.tray.value.length > 0 ? html`<button type="button" class="warn" data-testid="tray" @click=${() => openLeaf({ kind: "tray" })}>${say("tray.count", { count: session.tray.value.length })}</button>` : nothing}
    </div>`;
}

// The rooms, and under them the checks.

function rooms(session: Session): Template {
  const open = leaves.value[0]?.kind;
  const leaf = (kind: LeafRoom): Template =>
    html`<button type="button" data-testid="room-${kind}" aria-expanded=${open === kind ? "true" : "false"} @click=${() => toggle({ kind })}>${say(`room.${kind}`)}</button>`;
  return html`<ol class="room-list" aria-label=${say("job.rooms")}>
      ${ROOMS.map((room) => {
        const opens = LEAF_ROOMS.find((one) => one === room);
        if (opens) return html`<li>${leaf(opens)}</li>`;
        if (room === "papers") return html`<li><a href=${jobAddress(session.id, "papers")}>${say("room.papers")}</a></li>`;
        return html`<li class="unbuilt">${say(`room.${room}`)} <span>${say("app.later")}</span></li>`;
      })}
    </ol>
    ${checkList(session)}
    <button type="button" class="plain" data-testid="defaults" @click=${() => openLeaf({ kind: "defaults" })}>${say("defaults.title")}</button>`;
}

/** On a narrow page the rooms that are built stand in view, whatever else lies on the page. */
function roomBar(session: Session): Template {
  if (!narrow.value) return nothing;
  const open = leaves.value[0]?.kind;
  const leaf = (kind: LeafRoom | "checks"): Template =>
    html`<button type="button" data-testid="bar-${kind}" aria-expanded=${open === kind ? "true" : "false"} @click=${() => enter(session, kind)}>${say(kind === "checks" ? "checks.title" : `room.${kind}`)}</button>`;
  return html`<div role="group" aria-label=${say("job.rooms")}>${([...LEAF_ROOMS, "checks"] as const).map(leaf)}</div>`;
}

/** Open a room beside the plan, from whatever screen. */
function enter(session: Session, kind: LeafRoom | "checks"): void {
  if (screenNow() === "plan") return toggle({ kind });
  wantedLeaf = { kind };
  window.location.hash = jobAddress(session.id);
}

/** Open a page of the site, from whatever screen. */
function enterPage(session: Session, name: string): void {
  const leaf: Leaf = { kind: "site-page", name };
  if (screenNow() === "plan") return openLeaf(leaf);
  wantedLeaf = leaf;
  window.location.hash = jobAddress(session.id);
}

/** Leaf that opens when the plan has come. */
let wantedLeaf: Leaf | null = null;

function toggle(leaf: Leaf): void {
  if (leaves.value[0]?.kind === leaf.kind) closeLeaves();
  else openLeaf(leaf);
}

// The title strip.

/** On a narrow page the settings of the strip open with a button. */
const settingsOpen = signal(false);

function titleStrip(session: Session): Template {
  const job = session.job.value;
  const body = bodyShown(session);
  const level = session.figures.value[`shape.shore.bodies.${body ?? ""}.level`];
  const link = session.link.value;
  const cell = (name: string, content: unknown, testid = ""): Template => html`<div class="cell"><span class="name">${name}</span><span data-testid=${testid || nothing}>${content}</span></div>`;
  return html`<section class="cells" aria-label=${say("strip.title")}>
    ${cell(say("strip.job"), job?.name ?? "–")} ${cell(say("strip.rev"), session.rev.value < 0 ? "–" : session.rev.value, "rev")}
    ${cell(say("strip.level"), level === undefined ? say("strip.noLevel") : shown(level, "elevation"), "level")}
    ${cell(say("strip.state"), html`<b class="link link-${link.replace(" ", "-")}">${say(`link.${link}`)}</b>`, "state")}
    ${session.unsent > 0 ? cell(say("strip.unsent"), session.unsent, "unsent") : nothing}
    <button type="button" class="settings-switch plain" aria-expanded=${settingsOpen.value ? "true" : "false"} @click=${() => (settingsOpen.value = !settingsOpen.value)}>${say("strip.settings")}</button>
    <div class="settings" data-open=${settingsOpen.value ? "yes" : "no"}>
    ${choiceBox({ id: "units", label: say("units.title"), value: units.value, of: UNITS.map((one) => [one, say(`units.${one}`)] as const), set: (value) => (units.value = value) })}
    ${choiceBox({ id: "heights", label: say("heights.title"), value: heights.value, of: [["elevation", say("heights.elevation")], ["water", say("heights.water")]], set: (value) => (heights.value = value) })}
    ${choiceBox({ id: "look", label: say("look.title"), value: look.value, of: [["day", say("look.day")], ["night", say("look.night")], ["sun", say("look.sun")]], set: (value) => (look.value = value) })}
    </div>
  </section>`;
}

// The screens.

function mountScreen(host: HTMLElement, session: Session): Dispose {
  let dispose: Dispose = () => {};
  let last: Screen | null = null;
  const stop = effect(() => {
    const screen = screenNow();
    untracked(() => {
      dispose();
      // A leaf is beside the plan: on another screen it would lie over, or under, what was asked for.
      if (last !== null && last !== screen) {
        closeLeaves();
        if (wantedLeaf !== null) openLeaf(wantedLeaf);
        wantedLeaf = null;
      }
      last = screen;
      host.dataset["screen"] = screen;
      host.closest<HTMLElement>(".job")?.setAttribute("data-screen", screen);
      dispose = mountOne(host, session, screen);
    });
  });
  return () => {
    stop();
    dispose();
  };
}

function mountOne(host: HTMLElement, session: Session, screen: Screen): Dispose {
  if (screen === "tables") return mountTables(host, session);
  if (screen === "papers") return mountPapers(host, session);
  if (screen === "field") return mountField(host);
  return mountPlanScreen(host, session);
}

function mountPlanScreen(host: HTMLElement, session: Session): Dispose {
  const open: Signal<Below> = signal<Below>("strip");
  host.innerHTML = `<section class="plan" data-part="plan"></section>
    <div class="corner-place" data-part="corner"></div>
    <section class="below"><div data-part="below-head"></div><div class="below-body" data-part="below" tabindex="0" role="group" aria-label="${say("below.body")}"></div></section>`;
  const part = (name: string): HTMLElement => host.querySelector<HTMLElement>(`[data-part="${name}"]`) as HTMLElement;
  const below = part("below");
  let dispose: Dispose = () => {};
  const stopBelow = effect(() => {
    const [name, isOpen] = [open.value, stripOpen.value === "open"];
    untracked(() => {
      dispose();
      below.hidden = !isOpen;
      dispose = isOpen ? mountPart(below, session, name, say(`below.${name}`)) : () => {};
    });
  });
  // A drain whose profile somebody asks for is shown at once.
  const stopDrain = effect(() => {
    if (!profileAsked.value) return;
    untracked(() => {
      showBelow(open, "drain");
      profileAsked.value = false;
    });
  });
  const stops: Dispose[] = [
    mountPart(part("plan"), session, "plan", say("place.plan")),
    mountView(part("corner"), () => cornerBlock(session)),
    mountView(part("below-head"), () => belowHead(open)),
    stopBelow,
    stopDrain,
    effect(() => {
      below.dataset["tall"] = belowTall.value;
    }),
    () => dispose(),
  ];
  return () => {
    for (const stop of stops) stop();
    host.replaceChildren();
  };
}

function showBelow(open: Signal<Below>, name: Below): void {
  open.value = name;
  stripOpen.value = "open";
}

function belowHead(open: Signal<Below>): Template {
  const isOpen = stripOpen.value === "open";
  const isTall = belowTall.value === "yes";
  return html`<div class="below-head" role="group" aria-label=${say("job.below")}>
    ${BELOW.map((name) => html`<button type="button" data-testid="below-${name}" aria-pressed=${isOpen && open.value === name ? "true" : "false"} @click=${() => showBelow(open, name)}>${say(`below.${name}`)}</button>`)}
    <span class="below-size">
      ${isOpen
        ? html`<button type="button" class="plain" data-testid="below-size" @click=${() => (belowTall.value = isTall ? "no" : "yes")}>
            ${say(isTall ? "job.shorterBelow" : "job.tallerBelow")}
          </button>`
        : nothing}
      <button type="button" class="plain" @click=${() => (stripOpen.value = isOpen ? "closed" : "open")}>${say(isOpen ? "job.hideBelow" : "job.showBelow")}</button>
    </span>
  </div>`;
}

// What happens by itself.

/** Ctrl+Z and Ctrl+Shift+Z, except where a text is being typed. */
function keys(session: Session): Dispose {
  const pressed = (event: KeyboardEvent): void => {
    if (isTyping(event.target)) return;
    const key = event.key.toLowerCase();
    if (key === "escape" && session.preview.value === null && tool.value === "select" && leaves.value.length > 0) closeLeaves();
    if (key !== "z" || !(event.ctrlKey || event.metaKey) || event.altKey) return;
    event.preventDefault();
    tried(() => (event.shiftKey ? session.redo() : session.undo()));
  };
  document.addEventListener("keydown", pressed);
  return () => document.removeEventListener("keydown", pressed);
}

function isTyping(target: EventTarget | null): boolean {
  return target instanceof HTMLElement && (target.matches("input:not([type=checkbox]):not([type=radio]), textarea") || target.isContentEditable);
}

/** On a narrow page the plan comes into sight as soon as the hand has something to draw on it. */
function planInSight(screen: HTMLElement): Dispose {
  return effect(() => {
    screen.dataset["drawing"] = tool.value === "select" ? "no" : "yes";
    if (tool.value === "select" || !narrow.value) return;
    window.setTimeout(() => screen.scrollIntoView({ block: "start" }));
  });
}

/** When the job has come: its units; where it is empty the first step, and after the first shoreline the defaults. */
function welcome(session: Session): Dispose {
  let isWelcomed = false;
  let isFirstTime = false;
  return effect(() => {
    const job = session.job.value;
    if (job === null) return;
    const isNew = !isWelcomed;
    isWelcomed = true;
    untracked(() => {
      if (isNew) {
        units.value = job.shown_units;
        isFirstTime = isEmpty(job.site.shots) && isEmpty(job.site.clouds);
        if (isFirstTime && screenNow() === "plan") openLeaf({ kind: "shots" });
      } else if (isFirstTime && !isEmpty(job.shape.bodies)) {
        isFirstTime = false;
        // On a narrow page the list would push the new water out of sight.
        notice.value = narrow.value ? say("start.thirdSays") : "";
        if (!narrow.value) openLeaf({ kind: "defaults" });
      }
    });
  });
}

function isEmpty(rows: Readonly<Record<string, unknown>> | undefined): boolean {
  return Object.keys(rows ?? {}).length === 0;
}

/** After the drop, once the numbers are exact, one polite sentence of the four numbers. */
function aloud(session: Session): Dispose {
  let last = -1;
  return effect(() => {
    const [link, rev, ended] = [session.link.value, session.rev.value, session.ended.value];
    if (ended !== null) notice.value = said(ended);
    if (link !== "exact" || rev === last) return;
    const isFirst = last < 0;
    last = rev;
    if (!isFirst) untracked(() => (spoken.value = cornerSentence(session)));
  });
}
