/** The boxes of readings, drains, outlets and sumps: what is chosen, and what is put down anew. */

import { html, nothing } from "lit";
import type { Job } from "../api/types";
import type { Drain, Outlet, Reading, Season, Sump } from "../api/water";
import { percent, shown } from "../format/shown";
import { say } from "../format/words";
import { choiceBox, numberBox, textBox, tickBox } from "../panels/boxes";
import type { Template } from "../panels/view";
import { attempt, newId, setOps } from "../state/changes";
import { openLeaf } from "../state/desk";
import { type Json, type Op, pointer } from "../state/ops";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import { showProfile } from "../state/water-shown";
import type { Boxed } from "./box";
import { type Built, builtPath, nameOf, wateredOf } from "./built";
import { readingKind } from "./gestures/draw-water";
import { json } from "./rings";

export const READING_KINDS = ["standpipe", "seep", "spring", "ditch", "pond"] as const;
const SEASONS: readonly Season[] = ["dry", "wet"];

/** What was typed for an outlet or a sump that is not in the job yet. */
interface Form {
  readonly name: string;
  readonly east: number | null;
  readonly north: number | null;
  readonly invert: number | null;
  readonly flood: number | null;
  readonly on: number | null;
  readonly off: number | null;
  readonly pump: number | null;
}

const EMPTY: Form = { name: "", east: null, north: null, invert: null, flood: null, on: null, off: null, pump: null };
const form: Signal<Form> = signal(EMPTY);

/** Boxes of a chosen row of the groundwater, without its place. */
export function chosenWaterBoxes(boxed: Boxed, job: Job, built: Built): Template {
  const change = changer(boxed, built);
  const name = textBox({ id: "water-name", label: say("plan.box.name"), value: built.row.name ?? "", otherwise: built.id, set: (value) => change("name", value) });
  const content =
    built.kind === "reading"
      ? readingBoxes(boxed, built.row as unknown as Reading, change)
      : built.kind === "drain"
        ? drainBoxes(boxed, job, built, change)
        : built.kind === "outlet"
          ? outletBoxes(boxed, built.row as unknown as Outlet, change)
          : sumpBoxes(boxed, built.row as unknown as Sump, change);
  const more = (): void => openLeaf({ kind: "groundwater", row: `groundwater.${built.kind}s.${built.id}` });
  return html`${name} ${content} <button type="button" data-testid="water-more" @click=${more}>${say("plan.box.more")}</button>`;
}

type Change = (field: string, value: Json) => boolean;

function changer({ session }: Boxed, built: Built): Change {
  const { kind, id } = built;
  const keys = builtPath(kind, id).slice(1).split("/");
  return (field, value) => {
    const job = session.job.value;
    return job !== null && attempt(session, say("plan.label.changeThing", { name: nameOf(built) }), setOps(job, [...keys, field], value));
  };
}

function readingBoxes({ session }: Boxed, { kind, ...row }: Reading, change: Change): Template {
  const kinds = (row.place.at === "point" ? ["standpipe", "seep", "spring"] : [kind]) as readonly (typeof READING_KINDS)[number][];
  const flows = kind === "seep" || kind === "spring";
  return html`${kinds.length > 1 ? choiceBox({ id: "reading-kind", label: say("plan.box.kind"), value: kind, of: kinds.map((one) => [one, say(`groundwater.reading.${one}`)] as const), set: (value) => void change("kind", value) }) : nothing}
    ${SEASONS.map((season) => numberBox({ id: `reading-${season}`, label: say(`groundwater.${season}Level`), kind: "elevation", value: row[season] ?? null, waterLine: session.waterLine.value, set: (value) => change(season, value) }))}
    ${flows ? SEASONS.map((season) => numberBox({ id: `reading-${season}_flow`, label: say(`groundwater.${season}Flow`), kind: "flow", value: row[`${season}_flow`] ?? null, set: (value) => change(`${season}_flow`, value) })) : nothing}`;
}

/** What drains can run into. */
export function endsOf(job: Job, except: string): readonly (readonly [string, string])[] {
  const rows = wateredOf(job).filter(({ kind, id }) => kind !== "reading" && id !== except);
  return [["", say("groundwater.notDecided")], ...rows.map((row): readonly [string, string] => [row.id, nameOf(row)])];
}

function drainBoxes({ session }: Boxed, job: Job, { id, row: raw }: Built, change: Change): Template {
  const row = raw as unknown as Drain;
  const inverts = row.inverts ?? [];
  const profile = session.figures.value;
  const fall = profile[`groundwater.profiles.lines.${id}.fall`];
  const selection = session.selection.value;
  return html`${tickBox({ id: "drain-working", label: say("groundwater.working"), value: row.working ?? true, set: (on) => void change("working", on) })}
    ${choiceBox({ id: "drain-into", label: say("groundwater.into"), value: row.into ?? "", of: endsOf(job, id), set: (into) => void change("into", into || null) })}
    ${tickBox({ id: "drain-slotted", label: say("groundwater.slotted"), value: row.slotted ?? true, set: (on) => void change("slotted", on) })}
    ${numberBox({ id: "drain-diameter", label: say("groundwater.diameter"), kind: "length", value: row.diameter ?? null, otherwise: shown(0.1016, "length"), set: (value) => change("diameter", value) })}
    ${inverts.length === 0
      ? numberBox({ id: "drain-fall", label: say("groundwater.fallWanted"), kind: "ratio", value: row.fall ?? null, otherwise: fall === undefined ? "" : percent(fall), set: (value) => change("fall", value) })
      : nothing}
    ${invertBoxes(session.waterLine.value, row, inverts, selection?.at ?? null, change, profile[`groundwater.profiles.lines.${id}.upper`], profile[`groundwater.profiles.lines.${id}.lower`])}
    <button type="button" data-testid="drain-profile" @click=${() => showProfile(id)}>${say("groundwater.profileBelow")}</button>`;
}

/** Bottoms of the pipe: none given runs evenly; given they stand one for each point, that of the chosen point first. */
function invertBoxes(waterLine: number | null, { place }: Drain, inverts: readonly number[], at: number | null, change: Change, upper: number | undefined, lower: number | undefined): Template {
  const count = place.points.length;
  if (inverts.length === 0) {
    if (upper === undefined || lower === undefined) return nothing;
    const lengths = place.points.slice(1).map((point, step) => Math.hypot(point.east - (place.points[step]?.east ?? 0), point.north - (place.points[step]?.north ?? 0)));
    const whole = lengths.reduce((sum, one) => sum + one, 0) || 1;
    const even = place.points.map((_, step) => upper + ((lower - upper) * lengths.slice(0, step).reduce((sum, one) => sum + one, 0)) / whole);
    return html`<button type="button" data-testid="drain-inverts" @click=${() => void change("inverts", json(even.map((one) => Math.round(one * 1e4) / 1e4)))}>${say("groundwater.typeInverts")}</button>`;
  }
  const some = at === null ? [0, count - 1] : [at];
  const set = (step: number) => (value: number | null): boolean => value !== null && change("inverts", json(inverts.with(step, value)));
  return html`${some.map((step) => numberBox({ id: `drain-invert-${step}`, label: say(step === 0 ? "groundwater.invertUpper" : step === count - 1 ? "groundwater.invertLower" : "groundwater.invertAt", { number: step + 1 }), kind: "elevation", value: inverts[step] ?? null, waterLine, needed: true, set: set(step) }))}
    <button type="button" data-testid="drain-even" @click=${() => void change("inverts", null)}>${say("groundwater.evenFall")}</button>`;
}

function outletBoxes({ session }: Boxed, row: Outlet, change: Change): Template {
  const waterLine = session.waterLine.value;
  return html`${numberBox({ id: "outlet-invert", label: say("groundwater.invert"), kind: "elevation", value: row.invert, waterLine, needed: true, set: (value) => change("invert", value) })}
    ${numberBox({ id: "outlet-flood", label: say("groundwater.flood"), kind: "elevation", value: row.flood ?? null, waterLine, set: (value) => change("flood", value) })}`;
}

function sumpBoxes({ session }: Boxed, row: Sump, change: Change): Template {
  const waterLine = session.waterLine.value;
  return html`${(["on", "off"] as const).map((one) => numberBox({ id: `sump-${one}`, label: say(`groundwater.sump.${one}`), kind: "elevation", value: row[one], waterLine, needed: true, set: (value) => change(one, value) }))}
    ${numberBox({ id: "sump-pump", label: say("groundwater.sump.pump"), kind: "flow", value: row.pump, needed: true, set: (value) => change("pump", value) })}
    ${tickBox({ id: "sump-standby", label: say("groundwater.sump.standby"), value: row.standby ?? false, set: (on) => void change("standby", on) })}
    ${numberBox({ id: "sump-backup", label: say("groundwater.sump.backup"), kind: "time", value: row.backup ?? null, set: (value) => change("backup", value) })}`;
}

/** What the next reading is, above the place of it. */
export function readingChoice(): Template {
  return tool.value !== "reading"
    ? nothing
    : choiceBox({ id: "new-reading", label: say("plan.box.kind"), value: readingKind.value, of: READING_KINDS.map((kind) => [kind, say(`groundwater.reading.${kind}`)] as const), set: (kind) => (readingKind.value = kind) });
}

/** An outlet or a sump is put by a press; the box asks how deep it is, and keeps it. */
export function newEndBox({ session, hand }: Boxed, job: Job, kind: "outlet" | "sump"): Template {
  const set = <K extends keyof Form>(key: K) => (value: Form[K]): boolean => {
    form.value = { ...form.value, [key]: value };
    return true;
  };
  const typed = form.value;
  const point = hand.draft.value?.point;
  const [east, north] = [typed.east ?? point?.[0] ?? null, typed.north ?? point?.[1] ?? null];
  const waterLine = session.waterLine.value;
  const keep = (): void => {
    const { invert, flood, on, off, pump, name } = form.value;
    const row = kind === "outlet" ? (invert === null ? null : { invert, ...(flood === null ? {} : { flood }) }) : on === null || off === null || pump === null ? null : { on, off, pump };
    if (east === null || north === null) return void (hand.says.value = say("plan.box.missing"));
    if (row === null) return void (hand.says.value = say(`groundwater.${kind}Needs`));
    const value = json({ place: { at: "point", east, north }, ...(name ? { name } : {}), ...row });
    const rows = (job.groundwater?.[`${kind}s`] ?? {}) as Readonly<Record<string, unknown>>;
    const id = newId(kind, { ...rows, ...(job.groundwater?.drains ?? {}) });
    const op: Op = { op: "add", path: pointer("groundwater", `${kind}s`, id), value };
    if (!attempt(session, say("plan.label.thing", { name: name || say(`groundwater.${kind}`) }), [op])) return;
    form.value = EMPTY;
    tool.value = "select";
    session.selection.value = { kind, id };
  };
  const height = (key: "invert" | "flood" | "on" | "off", label: string): Template =>
    numberBox({ id: `new-${key}`, label, kind: "elevation", value: typed[key], waterLine, set: set(key) });
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${say(`plan.tool.${kind}`)} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${say(`plan.tool.${kind}`)}</h3>
    ${textBox({ id: "new-name", label: say("plan.box.name"), value: typed.name, set: set("name") })}
    ${numberBox({ id: "new-east", label: say("plan.box.east"), kind: "length", value: east, set: set("east") })}
    ${numberBox({ id: "new-north", label: say("plan.box.north"), kind: "length", value: north, set: set("north") })}
    ${kind === "outlet"
      ? html`${height("invert", say("groundwater.invert"))} ${height("flood", say("groundwater.flood"))}`
      : html`${height("on", say("groundwater.sump.on"))} ${height("off", say("groundwater.sump.off"))} ${numberBox({ id: "new-pump", label: say("groundwater.sump.pump"), kind: "flow", value: typed.pump, set: set("pump") })}`}
    <div class="buttons">
      <button type="button" class="primary" data-testid="keep-${kind}" @click=${keep}>${say("plan.box.keep")}</button>
      <button type="button" @click=${() => (tool.value = "select")}>${say("plan.box.stop")}</button>
    </div>
  </form>`;
}
