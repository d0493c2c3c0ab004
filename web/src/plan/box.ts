/** The box beside the plan: what is chosen or in the making, to be typed. Every drag has its equal here. */

import { html, nothing } from "lit";
import type { Job, Shot, Thing } from "../api/types";
import { shown } from "../format/shown";
import { choiceBox, numberBox, textBox } from "../panels/boxes";
import { type Dispose, type Template, mountView } from "../panels/view";
import { attempt, newId, nextIds, setOps } from "../state/changes";
import { openLeaf } from "../state/desk";
import { type Op, pointer } from "../state/ops";
import { pick } from "../state/pick";
import type { Selection, Session } from "../state/session";
import { type Signal, effect, signal, untracked } from "../state/signal";
import { bankTypeOps, banksToChoose } from "../state/ready-banks";
import { ofSurvey } from "../state/survey-in-hand";
import { tool } from "../state/tool";
import { lineBox } from "./box-line";
import { photoBox } from "./box-photo";
import { pickBox } from "./box-pick";
import { probeBox } from "./box-probe";
import { buildingBoxes, chosenShapeBox, newFallBox, newSeatBox, streamWidthBoxes } from "./box-shape";
import { soilBox } from "./box-soil";
import { guardChoice, newLinedBox } from "./box-lining";
import { newTreatmentBox, stoneBox } from "./box-stone";
import { newEndBox, readingChoice } from "./box-water";
import { removed } from "./gestures/choose";
import { DrawBreakline, throughShots } from "./gestures/draw-lines";
import { Path } from "./gestures/path";
import { cornerTurned, neighbour, pegOut, pegTo, ringOfSelection } from "./gestures/peg";
import { islandTo } from "./gestures/whole-island";
import type { Fields } from "./fields";
import type { Hand } from "./hand";
import type { PhotoLayer } from "./layers/photo";
import { found } from "./located";
import { shotPoint } from "./places";
import { OUTER, json, middleOf, ringOf, ringsOf } from "./rings";
import { say } from "./say";
import { isStoneKind } from "./stones";

/** What was typed for a thing that is not in the job yet. */
interface Form {
  readonly east: number | null;
  readonly north: number | null;
  readonly elevation: number | null;
  readonly size: number | null;
  readonly clear: number | null;
  readonly name: string;
  readonly kind: string;
  readonly code: string;
  readonly shot: string;
  readonly type: string;
}

const EMPTY: Form = { east: null, north: null, elevation: null, size: null, clear: null, name: "", kind: "", code: "", shot: "", type: "" };
const KINDS = ["tree", "utility", "structure", "pipe", "well", "septic", "stone_pile", "soil_pile", "access", "fence", "house", "light"] as const;

const unfolded: Signal<boolean> = signal(false);

export interface Boxed {
  readonly session: Session;
  readonly hand: Hand;
  readonly photos: PhotoLayer;
  readonly fields: Fields;
}

export function mountBox(host: HTMLElement, boxed: Boxed): Dispose {
  const form = signal<Form>(EMPTY);
  const { draft } = boxed.hand;
  const stopTool = effect(() => {
    const isPicking = tool.value === "place";
    untracked(() => {
      form.value = EMPTY;
      if (!isPicking) pick.value = null;
    });
  });
  const stopDraft = effect(() => {
    const point = draft.value?.point;
    if (point) untracked(() => (form.value = { ...form.value, east: point[0], north: point[1] }));
  });
  const stopView = mountView(host, () => {
    const job = boxed.session.shown.value;
    const content = job ? contentOf(boxed, job, form) : nothing;
    host.hidden = content === nothing;
    return content;
  });
  return () => {
    stopTool();
    stopDraft();
    stopView();
  };
}

function contentOf(boxed: Boxed, job: Job, form: Signal<Form>): Template {
  switch (tool.value) {
    case "select": return chosen(boxed, job);
    case "shot": return newShot(boxed, job, form);
    case "thing": return newThing(boxed, job, form);
    case "bank": return newBank(boxed, job, form);
    case "photo": return photoBox(boxed, job);
    case "seat": return newSeatBox(boxed);
    case "fall": return newFallBox(boxed, job);
    case "outlet":
    case "sump": return newEndBox(boxed, job, tool.value);
    case "penetration":
    case "patch": return newLinedBox(boxed, job, tool.value);
    case "treatment": return newTreatmentBox(boxed, job);
    case "place": return pickBox(boxed);
    case "boundary": return boxed.hand.draft.value?.line ? lineBox(boxed, job) : nextPlace(boxed, job, form);
    default: return nextPlace(boxed, job, form);
  }
}

function framed(title: string, content: unknown): Template {
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${title} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${title}</h3>
    ${content}
  </form>`;
}

/** Box of what is pressed on the plan itself: on a small screen it stays folded, so that the place to press is free. */
function framedLow(title: string, content: unknown): Template {
  const fold = (): boolean => (unfolded.value = !unfolded.value);
  return html`<form class="plan-box low" data-unfolded=${unfolded.value} data-testid="plan-box" aria-label=${title} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${title}</h3>
    <button type="button" class="unfold" data-testid="box-unfold" aria-expanded=${unfolded.value} @click=${fold}>${say("plan.box.typeIt")}</button>
    ${content}
  </form>`;
}

function button(words: string, press: () => void, id = ""): Template {
  return html`<button type="button" data-testid=${id || nothing} @click=${press}>${words}</button>`;
}

function chosen(boxed: Boxed, job: Job): Template {
  const selection = boxed.session.selection.value;
  if (selection === null) return nothing;
  if (selection.kind === "peg") return pegBox(boxed, job, selection);
  if (selection.kind === "shot") return shotBox(boxed, job, selection.id);
  if (selection.kind === "probe") return probeBox(boxed, job, selection.id);
  if (selection.kind === "pile" || selection.kind === "gate") return soilBox(boxed, job, selection.kind, selection.id);
  if (isStoneKind(selection.kind)) return stoneBox(boxed, job, selection);
  if (selection.kind === "thing") return thingBox(boxed, job, selection.id);
  if (selection.kind === "body" && (selection.ring ?? OUTER) !== OUTER) return islandBox(boxed, job, selection);
  return chosenShapeBox(boxed, job, selection);
}

function pegBox(boxed: Boxed, job: Job, selection: Selection): Template {
  const { hand } = boxed;
  const name = ringOfSelection(selection);
  const peg = name && ringOf(job, name)?.curve.pegs.find((one) => one.id === selection.id);
  if (!peg) return nothing;
  const move = (east: number | null, north: number | null): boolean => {
    if (east === null || north === null) return false;
    hand.typed((world) => pegTo(world, [east, north]));
    return true;
  };
  return framedLow(
    say("plan.box.peg", { id: peg.id }),
    html`${numberBox({ id: "peg-east", label: say("plan.box.east"), kind: "length", value: peg.east, needed: true, set: (east) => move(east, peg.north) })}
      ${numberBox({ id: "peg-north", label: say("plan.box.north"), kind: "length", value: peg.north, needed: true, set: (north) => move(peg.east, north) })}
      ${streamWidthBoxes(boxed, job, selection)}
      <div class="buttons">
        <label class="tick"
          ><input type="checkbox" data-testid="peg-corner" .checked=${peg.corner ?? false} @change=${() => hand.typed(cornerTurned)} /><span>${say("plan.box.corner")}</span></label
        >
        ${button(say("plan.box.before"), () => hand.typed((world) => neighbour(world, -1)))}
        ${button(say("plan.box.next"), () => hand.typed((world) => neighbour(world, 1)), "peg-next")}
        ${button(say("plan.box.takeOut"), () => hand.typed(pegOut), "peg-delete")}
        ${button(say("plan.box.letGo"), () => hand.letGo())}
      </div>`,
  );
}

function shotBox({ session, hand }: Boxed, job: Job, id: string): Template {
  const shot = job.site.shots?.[id];
  if (!shot) return nothing;
  const point = shotPoint(shot);
  const change = (property: string, value: number | null, within: readonly string[] = []): boolean =>
    attempt(session, say("plan.label.moveShot", { id }), setOps(job, ["site", "shots", id, ...within, property], value));
  const place = (property: "east" | "north", value: number | null): boolean => value !== null && change(property, value, ["place"]);
  return framedLow(
    `${say("plan.box.shot")} ${id}`,
    html`${point
      ? html`${numberBox({ id: "shot-east", label: say("plan.box.east"), kind: "length", value: point[0], needed: true, set: (value) => place("east", value) })}
          ${numberBox({ id: "shot-north", label: say("plan.box.north"), kind: "length", value: point[1], needed: true, set: (value) => place("north", value) })}`
      : otherwisePlaced(shot, id)}
      ${numberBox({
        id: "shot-elevation",
        label: say("plan.box.elevation"),
        kind: "elevation",
        value: shot.elevation ?? null,
        waterLine: session.waterLine.value,
        otherwise: heightFound(id, session.waterLine.value),
        set: (value) => change("elevation", value),
      })}
      <div class="buttons">
        ${button(say("plan.box.takeOut"), () => hand.typed(removed))} ${button(say("plan.box.letGo"), () => hand.letGo())}
      </div>`,
  );
}

/** Where a shot was found that is not placed by east and north. */
function otherwisePlaced(shot: Shot, id: string): Template {
  const at = found.value.get(id);
  const how = say(`table.by.${shot.place.by as "book"}`);
  const where = at ? say("plan.box.foundAt", { how, east: shown(at.point[0], "length"), north: shown(at.point[1], "length") }) : say("plan.box.notPlaced");
  return html`<p class="quiet">${where}</p>
    ${shot.place.by === "book" ? button(say("plan.box.placeIt"), () => openLeaf({ kind: "site-page", name: "locate" })) : nothing}`;
}

/** Height that the field book gives, which holds while the box is empty. */
function heightFound(id: string, waterLine: number | null): string {
  const elevation = found.value.get(id)?.elevation ?? null;
  return elevation === null ? "" : say("plan.box.foundHeight", { value: shown(elevation, "elevation", waterLine) });
}

function thingBox({ session, hand }: Boxed, job: Job, id: string): Template {
  const thing = job.site.things?.[id];
  if (!thing) return nothing;
  const label = say("plan.label.changeThing", { name: thing.name || id });
  const change = (property: string, value: number | string | null, within: readonly string[] = []): boolean =>
    attempt(session, label, setOps(job, ["site", "things", id, ...within, property], value));
  const place = (property: "east" | "north", value: number | null): boolean => value !== null && change(property, value, ["place"]);
  return framedLow(
    say(`plan.kind.${thing.kind as (typeof KINDS)[number]}`),
    html`${textBox({ id: "thing-name", label: say("plan.box.name"), value: thing.name ?? "", set: (value) => change("name", value) })}
      ${thing.place.at === "point"
        ? html`${numberBox({ id: "thing-east", label: say("plan.box.east"), kind: "length", value: thing.place.east, needed: true, set: (value) => place("east", value) })}
            ${numberBox({ id: "thing-north", label: say("plan.box.north"), kind: "length", value: thing.place.north, needed: true, set: (value) => place("north", value) })}
            ${numberBox({ id: "thing-size", label: say("plan.box.size"), kind: "length", value: thing.size ?? null, set: (value) => change("size", value) })}`
        : nothing}
      ${numberBox({ id: "thing-clear", label: say("plan.box.clear"), kind: "length", value: thing.clear ?? null, set: (value) => change("clear", value) })}
      <div class="buttons">
        ${thing.kind === "utility" ? button(say("plan.box.more"), () => openLeaf({ kind: "site-page", name: "bounds", row: `site.things.${id}` })) : nothing}
        ${button(say("plan.box.takeOut"), () => hand.typed(removed))} ${button(say("plan.box.letGo"), () => hand.letGo())}
      </div>`,
  );
}

function islandBox({ hand }: Boxed, job: Job, selection: Selection): Template {
  const name = ringOfSelection(selection);
  const ring = name && ringOf(job, name);
  if (!ring) return nothing;
  const [east, north] = middleOf(ring.curve);
  const move = (toEast: number | null, toNorth: number | null): boolean => {
    if (toEast === null || toNorth === null) return false;
    hand.typed((world) => islandTo(world, [toEast, toNorth]));
    return true;
  };
  return framedLow(
    say("plan.box.island", { id: ring.ring }),
    html`${numberBox({ id: "island-east", label: say("plan.box.east"), kind: "length", value: east, needed: true, set: (value) => move(value, north) })}
      ${numberBox({ id: "island-north", label: say("plan.box.north"), kind: "length", value: north, needed: true, set: (value) => move(east, value) })}
      <div class="buttons">
        ${button(say("plan.box.takeOut"), () => hand.typed(removed))} ${button(say("plan.box.letGo"), () => hand.letGo())}
      </div>`,
  );
}

function placeBoxes(form: Signal<Form>): Template {
  const set = (property: "east" | "north") => (value: number | null): boolean => {
    form.value = { ...form.value, [property]: value };
    return true;
  };
  return html`${numberBox({ id: "new-east", label: say("plan.box.east"), kind: "length", value: form.value.east, set: set("east") })}
  ${numberBox({ id: "new-north", label: say("plan.box.north"), kind: "length", value: form.value.north, set: set("north") })}`;
}

function setter<K extends keyof Form>(form: Signal<Form>, property: K): (value: Form[K]) => boolean {
  return (value) => {
    form.value = { ...form.value, [property]: value };
    return true;
  };
}

/** The next place of a line in the making, typed. */
function nextPlace({ hand }: Boxed, job: Job, form: Signal<Form>): Template {
  const gesture = hand.gesture;
  if (!(gesture instanceof Path)) return nothing;
  void hand.sketch.value;
  const add = (): void => {
    const { east, north, shot } = form.value;
    if (gesture instanceof DrawBreakline) hand.typed((world) => gesture.through(shot || (Object.keys(job.site.shots ?? {})[0] ?? ""), world));
    else if (east === null || north === null) hand.says.value = say("plan.box.missing");
    else hand.typed((world) => gesture.add([east, north], world));
  };
  const where =
    gesture instanceof DrawBreakline
      ? choiceBox({ id: "new-shot", label: say("plan.box.shot"), value: form.value.shot, of: Object.keys(job.site.shots ?? {}).map((id) => [id, id] as const), set: setter(form, "shot") })
      : placeBoxes(form);
  const kinds = (["break", "paint"] as const).map((kind) => [kind, say(`plan.box.lineKind.${kind}`)] as const);
  return framedLow(
    say(`plan.tool.${gesture.tool}`),
    html`${gesture instanceof DrawBreakline
        ? choiceBox({ id: "line-kind", label: say("plan.box.lineKind"), value: throughShots.value, of: kinds, set: (kind) => (throughShots.value = kind) })
        : nothing}
      ${buildingBoxes()} ${readingChoice()} ${guardChoice()} ${where}
      <div class="buttons">
        ${button(say("plan.box.addPlace"), add, "add-place")} ${button(say("plan.box.finish"), () => hand.typed((world) => gesture.finish(world)), "finish")}
        ${button(say("plan.box.takeBack"), () => hand.typed((world) => gesture.takeBack(world)))} ${button(say("plan.box.stop"), () => hand.letGo())}
      </div>`,
  );
}

function newShot({ session, hand }: Boxed, job: Job, form: Signal<Form>): Template {
  const { elevation, code } = form.value;
  const keep = (): void => {
    const { east, north } = form.value;
    if (east === null || north === null) return void (hand.says.value = say("plan.box.missing"));
    const [id = "s1"] = nextIds("s", job.site.shots ?? {}, 1);
    const value = json({ place: { by: "coordinates", east, north }, ...(elevation === null ? {} : { elevation }), ...(code ? { code } : {}), ...ofSurvey(job) });
    if (!attempt(session, say("plan.label.shot", { id }), [{ op: "add", path: pointer("site", "shots", id), value }])) return;
    form.value = { ...EMPTY, code };
    hand.says.value = say("plan.chosen.shot", { id });
  };
  return framed(
    say("plan.tool.shot"),
    html`${placeBoxes(form)}
      ${numberBox({ id: "new-elevation", label: say("plan.box.elevation"), kind: "elevation", value: elevation, waterLine: session.waterLine.value, set: setter(form, "elevation") })}
      ${textBox({ id: "new-code", label: say("plan.box.code"), value: code, set: setter(form, "code") })}
      <div class="buttons">${button(say("plan.box.keep"), keep, "keep-shot")} ${button(say("plan.box.stop"), () => (tool.value = "select"))}</div>`,
  );
}

function newThing({ session, hand }: Boxed, job: Job, form: Signal<Form>): Template {
  const kind = form.value.kind || "tree";
  const keep = (): void => {
    const { east, north, name, size, clear } = form.value;
    if (east === null || north === null) return void (hand.says.value = say("plan.box.missing"));
    const place = { at: "point", east, north } as const;
    if (keepThing(session, job, { kind, place, ...(name ? { name } : {}), ...(size === null ? {} : { size }), ...(clear === null ? {} : { clear }) })) {
      form.value = { ...EMPTY, kind };
    }
  };
  return framed(
    say("plan.tool.thing"),
    html`${kindBox(form, kind, KINDS)} ${textBox({ id: "new-name", label: say("plan.box.name"), value: form.value.name, set: setter(form, "name") })} ${placeBoxes(form)}
      ${numberBox({ id: "new-size", label: say("plan.box.size"), kind: "length", value: form.value.size, set: setter(form, "size") })}
      ${numberBox({ id: "new-clear", label: say("plan.box.clear"), kind: "length", value: form.value.clear, set: setter(form, "clear") })}
      <div class="buttons">${button(say("plan.box.keep"), keep, "keep-thing")} ${button(say("plan.box.stop"), () => (tool.value = "select"))}</div>`,
  );
}

function kindBox(form: Signal<Form>, kind: string, kinds: readonly (typeof KINDS)[number][]): Template {
  return choiceBox({
    id: "new-kind",
    label: say("plan.box.kind"),
    value: kind,
    of: kinds.map((name) => [name as string, say(`plan.kind.${name}`)] as const),
    set: setter(form, "kind"),
  });
}

function keepThing(session: Session, job: Job, thing: Thing): boolean {
  const id = newId(thing.kind, job.site.things ?? {});
  const op: Op = { op: "add", path: pointer("site", "things", id), value: json(thing) };
  return attempt(session, say("plan.label.thing", { name: thing.name || id }), [op]);
}

function newBank({ session, hand }: Boxed, job: Job, form: Signal<Form>): Template {
  const types = banksToChoose(job);
  const rings = ringsOf(job).filter((ring) => !ring.open);
  const [first] = rings;
  if (!first) return framed(say("plan.tool.bank"), html`<p class="quiet">${say("plan.bank.none")}</p>`);
  const held = hand.draft.value?.stretch;
  const ring = rings.find((one) => one.body === held?.body && one.ring === held.ring) ?? first;
  const pegs = ring.curve.pegs.map((peg) => [peg.id, peg.id] as const);
  const start = held?.start ?? pegs[0]?.[0] ?? "";
  const end = held?.end ?? pegs[1]?.[0] ?? "";
  const type = form.value.type || (types[0]?.[0] ?? "");
  const draft = (next: Partial<NonNullable<typeof held>>): void => {
    hand.draft.value = { stretch: { body: ring.body, ring: ring.ring, start, end, ...next } };
  };
  const keep = (): void => {
    const stretches = job.shape.bodies?.[ring.body]?.stretches ?? {};
    const path = pointer("shape", "bodies", ring.body, "stretches", newId("stretch", stretches));
    const value = json({ ring: ring.ring, start, end, bank_type: type });
    if (attempt(session, say("plan.label.bank", { start, end }), [...bankTypeOps(job, type), { op: "add", path, value }])) tool.value = "select";
  };
  const nameOf = ({ body, ring: island }: (typeof rings)[number]): string => {
    const name = job.shape.bodies?.[body]?.name || body;
    return island === OUTER ? say("plan.box.ofShore", { body: name }) : say("plan.box.ofIsland", { ring: island });
  };
  const named = rings.map((one) => [`${one.body} ${one.ring}`, nameOf(one)] as const);
  return framed(
    say("plan.tool.bank"),
    html`${rings.length > 1
        ? choiceBox({
            id: "bank-ring",
            label: say("plan.box.ring"),
            value: `${ring.body} ${ring.ring}`,
            of: named,
            set: (name) => {
              const [body = "", island = OUTER] = name.split(" ");
              hand.draft.value = { stretch: { body, ring: island } };
            },
          })
        : nothing}
      ${choiceBox({ id: "bank-start", label: say("plan.box.from"), value: start, of: pegs, set: (peg) => draft({ start: peg }) })}
      ${choiceBox({ id: "bank-end", label: say("plan.box.to"), value: end, of: pegs, set: (peg) => draft({ end: peg }) })}
      ${choiceBox({ id: "bank-type", label: say("plan.box.type"), value: type, of: types, set: setter(form, "type") })}
      <div class="buttons">${button(say("plan.box.keep"), keep, "keep-bank")} ${button(say("plan.box.stop"), () => (tool.value = "select"))}</div>`,
  );
}
