/** The old pond: what the hole holds, its muck, where it was probed, how high the water stood, and what a new survey changed. */

import { html, nothing } from "lit";
import type { Probe, ProbeLayer, Survey, WaterMark } from "../api/survey";
import { type Field, fieldOfBody } from "../api/frame";
import type { Job, SoilLayer } from "../api/types";
import { shown } from "../format/shown";
import { type Word, said, say } from "../format/words";
import { attempt, newId } from "../state/changes";
import { notice } from "../state/desk";
import { type Json, pointer } from "../state/ops";
import { pickPlace } from "../state/pick";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { surveyInHand } from "../state/survey-in-hand";
import { choiceBox, dayBox, numberBox, textBox, wordSwitch } from "./boxes";
import { gradeMark } from "./checks";
import { bodyShown, figureLine } from "./figures";
import { type Curve, storagePicture } from "./old-pond-picture";
import { type RowsOf, addRow, fieldSetter, foldedRow, removeButton } from "./rows";
import { type Dispose, type Template, mountView } from "./view";

const HOLE = ["floor", "lip", "depth", "volume", "area", "fills_to", "drawdown", "drawdown_volume", "guessed_share"];
const MUCK = ["volume", "sigma", "mass", "area", "mean", "deepest", "firm_floor", "carried_share"];
const REBASE = ["gone", "come", "area", "largest_drop", "hollow_change"];
const SOILS: readonly SoilLayer["kind"][] = ["topsoil", "clay", "silt", "sand", "gravel", "rock", "muck"];
const SEASONS = ["dry", "usual", "wet", "flood"] as const;
const HOWS = ["measured", "seen", "told"] as const;
const PROBED = ["rod", "pit", "bore"] as const;
const ARRAYS = ["old_storage", "storage"];
const CODES = [
  "site.hole", "site.no_hole", "site.mark_", "site.flood_mark", "site.never_fills", "site.muck", "site.probe", "site.soil", "site.leaky", "site.water_", "site.rebased",
];

/** How far it has come, in one short line. */
export function oldPondSays(session: Session, job: Job): string {
  const probes = Object.keys(job.site.probes ?? {}).length;
  const held = session.figures.value["site.old_hole.volume"];
  if (held === undefined && probes === 0) return say("old.short");
  return say("old.count", { volume: shown(held ?? Number.NaN, "volume"), probes, marks: Object.keys(job.site.water_marks ?? {}).length });
}

export function mountOldPond(host: HTMLElement, session: Session): Dispose {
  for (const name of ARRAYS) session.want(name, true, "old pond");
  const asTable = signal(false);
  const stop = mountView(host, () => {
    const job = session.shown.value;
    if (job === null) return nothing;
    return html`${hole(session, job, asTable)} ${muck(session)} ${waterMarks(session, job)} ${probes(session, job)} ${rebase(session, job)} ${checks(session)}`;
  });
  return () => {
    for (const name of ARRAYS) session.want(name, false, "old pond");
    stop();
  };
}

function figures(session: Session, stem: string, names: readonly string[]): Template {
  return html`<dl class="lines">${names.map((name) => figureLine(session, `${stem}.${name}`))}</dl>`;
}

function hole(session: Session, job: Job, asTable: { value: boolean }): Template {
  if (session.figures.value["site.old_hole.volume"] === undefined) return html`<h3>${say("old.hole")}</h3><p class="quiet">${say("old.noHole")}</p>`;
  const frame = session.frame.value;
  const body = bodyShown(session);
  const curves = [curveOf(frame?.fields["old_storage"], say("old.hole")), curveOf(frame && body ? fieldOfBody(frame, "storage", body) : undefined, job.shape.bodies?.[body ?? ""]?.name || say("old.newPond"))].flatMap((curve) => curve ?? []);
  return html`<h3>${say("old.hole")}</h3>
    ${figures(session, "site.old_hole", HOLE)}
    ${storagePicture(curves, session.waterLine.value, asTable.value)}
    <button type="button" class="plain" @click=${() => (asTable.value = !asTable.value)}>${say(asTable.value ? "old.asPicture" : "old.asTable")}</button>`;
}

function curveOf(field: Field | undefined, name: string): Curve | null {
  if (field === undefined) return null;
  const points = Array.from({ length: field.shape[0] ?? 0 }, (_, at) => ({ level: field.data[3 * at] as number, volume: field.data[3 * at + 1] as number }));
  return points.length < 2 ? null : { name, points };
}

function muck(session: Session): Template {
  if (session.figures.value["site.layers.muck.volume"] === undefined) return html`<h3>${say("old.muck")}</h3><p class="quiet">${say("old.noMuck")}</p>`;
  return html`<h3>${say("old.muck")}</h3>${figures(session, "site.layers.muck", MUCK)}<p class="quiet">${say("old.muckPlan")}</p>`;
}

// How high the water stood.

function waterMarks(session: Session, job: Job): Template {
  const rows: RowsOf = { session, job, at: ["site", "water_marks"], label: say("old.mark") };
  const marks = Object.entries(job.site.water_marks ?? {}).toSorted(([, one], [, other]) => one.elevation - other.elevation);
  return html`<h3>${say("old.marks")}</h3>
    ${marks.length === 0 ? html`<p class="quiet">${say("old.noMarks")}</p>` : nothing}
    ${marks.map(([id, mark]) => foldedRow(rows, id, markHead(session, id, mark), markBoxes(rows, id, mark)))}
    ${newMark(rows)}`;
}

/** A water mark in the making; null while nobody is at it. It outlives the page, and is kept only when told to. */
const draft: Signal<{ readonly elevation: number | null; readonly season: WaterMark["season"]; readonly how: (typeof HOWS)[number] } | null> = signal(null);

/** Nothing is guessed: the row stands empty until somebody says how high the water stood. */
function newMark(rows: RowsOf): Template {
  const mark = draft.value;
  const waterLine = rows.session.waterLine.value;
  if (mark === null) {
    return html`<button type="button" data-testid="mark-add" @click=${() => (draft.value = { elevation: null, season: "usual", how: "seen" })}>${say("old.addMark")}</button>`;
  }
  const set = (change: Partial<typeof mark>): boolean => ((draft.value = { ...mark, ...change }), true);
  const keep = (): void => {
    if (mark.elevation === null) return void (notice.value = say("old.markNeeds"));
    if (addRow(rows, "level", mark) !== null) draft.value = null;
  };
  return html`<section class="new-mark" aria-label=${say("old.newMark")} data-testid="mark-form">
    <h4>${say("old.newMark")}</h4>
    ${wordSwitch({ id: "season-new", label: say("old.when"), value: mark.season, of: SEASONS.map((season) => [season, say(`old.season.${season}`)] as const), set: (season) => set({ season }) })}
    ${numberBox({ id: "water-new", label: say("plan.box.elevation"), kind: "elevation", value: mark.elevation, waterLine, set: (elevation) => set({ elevation }) })}
    ${wordSwitch({ id: "how-new", label: say("old.known"), value: mark.how, of: HOWS.map((how) => [how, say(`old.how.${how}`)] as const), set: (how) => set({ how }) })}
    <p class="row">
      <button type="button" class="primary" data-testid="mark-keep-new" @click=${keep}>${say("old.keepMark")}</button>
      <button type="button" @click=${() => (draft.value = null)}>${say("app.cancel")}</button>
    </p>
  </section>`;
}

function markHead(session: Session, id: string, { season, elevation }: WaterMark): Template {
  const volume = session.figures.value[`site.old_hole.marks.${id}.volume`];
  return html`<b>${say(`old.season.${season}`)}</b> ${shown(elevation, "elevation", session.waterLine.value)}${volume === undefined ? nothing : html`, ${say("old.holds", { volume: shown(volume, "volume") })}`}`;
}

function markBoxes(rows: RowsOf, id: string, mark: WaterMark): Template {
  const set = fieldSetter(rows, id);
  return html`${wordSwitch({ id: `season-${id}`, label: say("old.when"), value: mark.season, of: SEASONS.map((season) => [season, say(`old.season.${season}`)] as const), set: set("season") })}
    ${numberBox({ id: `water-${id}`, label: say("plan.box.elevation"), kind: "elevation", value: mark.elevation, waterLine: rows.session.waterLine.value, needed: true, set: set("elevation") })}
    ${wordSwitch({ id: `how-${id}`, label: say("old.known"), value: mark.how ?? "seen", of: HOWS.map((how) => [how, say(`old.how.${how}`)] as const), set: set("how") })}
    ${dayBox({ id: `day-${id}`, label: say("old.day"), value: mark.date ?? null, set: set("date") })}
    <p class="row">${placeButton(say("old.pickMark"), set("place"))} ${removeButton(rows, id, mark.name || id)}</p>`;
}

function placeButton(title: string, set: (place: Json) => boolean): Template {
  const ask = (): void => pickPlace({ title, looks: false, before: null, take: ({ place: [east, north] }) => void set({ at: "point", east, north }) });
  return html`<button type="button" @click=${ask}>${say("marks.onPlan")}</button>`;
}

// Where the ground was probed.

function probes(session: Session, job: Job): Template {
  const rows: RowsOf = { session, job, at: ["site", "probes"], label: say("old.probe") };
  const all = Object.entries(job.site.probes ?? {});
  const add = (): void =>
    pickPlace({
      title: say("old.pickProbe"), looks: false, before: null,
      // The job may have moved on while the place was looked for.
      take: ({ place: [east, north] }) => void addRow({ ...rows, job: session.job.value ?? job }, "probe", { place: { at: "point", east, north } }),
    });
  return html`<h3>${say("old.probes", { count: all.length })}</h3>
    ${all.length === 0 ? html`<p class="quiet">${say("old.noProbes")}</p>` : nothing}
    <div data-testid="probes">${all.map(([id, probe]) => foldedRow(rows, id, probeHead(session, id, probe), probeBoxes(rows, id, probe)))}</div>
    <button type="button" data-testid="probe-add" @click=${add}>${say("old.addProbe")}</button>`;
}

function probeHead(session: Session, id: string, { name, how, layers }: Probe): Template {
  const water = session.figures.value[`site.layers.probes.${id}.water`];
  const told = (layers ?? []).map(({ kind, thickness }) => say("plan.box.layer", { kind: say(`soil.${kind}`), thickness: shown(thickness, "length") })).join(", ");
  return html`<b>${name || id}</b> <span class="quiet">${say(`old.by.${how ?? "rod"}`)}</span> ${told}${water === undefined ? nothing : html`; ${say("old.waterAt", { value: shown(water, "elevation", session.waterLine.value) })}`}`;
}

function probeBoxes(rows: RowsOf, id: string, probe: Probe): Template {
  const set = fieldSetter(rows, id);
  const layers = probe.layers ?? [];
  const setLayers = (next: readonly ProbeLayer[]): boolean => set("layers")(next as unknown as Json);
  return html`${textBox({ id: `probe-name-${id}`, label: say("plan.box.name"), value: probe.name ?? "", otherwise: id, set: set("name") })}
    ${wordSwitch({ id: `probe-how-${id}`, label: say("old.by"), value: probe.how ?? "rod", of: PROBED.map((how) => [how, say(`old.by.${how}`)] as const), set: set("how") })}
    ${dayBox({ id: `probe-day-${id}`, label: say("old.day"), value: probe.date ?? null, set: set("date") })}
    <h4>${say("old.layers")}</h4>
    ${layers.map((layer, at) => html`<div class="row">
      ${choiceBox({ id: `probe-${id}-${at}-kind`, label: say("earth.kind"), value: layer.kind, of: SOILS.map((kind) => [kind, say(`soil.${kind}`)] as const), set: (kind) => setLayers(layers.with(at, { ...layer, kind })) })}
      ${numberBox({ id: `probe-${id}-${at}-thickness`, label: say("old.thick"), kind: "length", value: layer.thickness, needed: true, set: (thickness) => thickness !== null && setLayers(layers.with(at, { ...layer, thickness })) })}
      <button type="button" aria-label=${say("old.removeLayer", { at: at + 1 })} @click=${() => setLayers(layers.toSpliced(at, 1))}>×</button>
    </div>`)}
    <button type="button" @click=${() => setLayers([...layers, { kind: layers.length === 0 ? "muck" : "clay", thickness: 0.3 }])}>${say("old.addLayer")}</button>
    ${numberBox({ id: `probe-water-${id}`, label: say("old.waterDepth"), kind: "length", value: probe.water_depth ?? null, set: set("water_depth") })}
    <p class="row">${placeButton(say("old.pickProbe"), set("place"))} ${removeButton(rows, id, probe.name || id)}</p>`;
}

// What a new survey changed.

function rebase(session: Session, job: Job): Template {
  const rows: RowsOf = { session, job, at: ["site", "surveys"], label: say("old.survey") };
  const surveys = Object.entries(job.site.surveys ?? {});
  const begin = (): void => {
    const id = newId("emptied", job.site.surveys ?? {});
    const value = { name: say("old.emptied"), date: today() };
    if (attempt(session, say("old.rebase"), [{ op: "add", path: pointer("site", "surveys", id), value }])) surveyInHand.value = id;
  };
  return html`<h3>${say("old.rebase")}</h3>
    <p class="quiet">${say("old.rebaseSays")}</p>
    ${figures(session, "site.rebase", REBASE)}
    ${surveys.map(([id, survey]) => foldedRow(rows, id, html`<b>${survey.name || id}</b> ${say("old.shotsOf", { count: shotsOf(job, id) })}`, surveyBoxes(rows, id, survey)))}
    ${surveys.length === 0
      ? nothing
      : choiceBox({ id: "survey-in-hand", label: say("old.inHand"), value: surveyInHand.value in (job.site.surveys ?? {}) ? surveyInHand.value : "", of: [["", say("old.noSurvey")], ...surveys.map(([id, survey]) => [id, survey.name || id] as const)], set: (id) => (surveyInHand.value = id) })}
    <button type="button" data-testid="rebase-begin" @click=${begin}>${say("old.begin")}</button>`;
}

function surveyBoxes(rows: RowsOf, id: string, survey: Survey): Template {
  const set = fieldSetter(rows, id);
  return html`${textBox({ id: `survey-name-${id}`, label: say("plan.box.name"), value: survey.name ?? "", otherwise: id, set: set("name") })}
    ${dayBox({ id: `survey-day-${id}`, label: say("old.day"), value: survey.date ?? null, set: set("date") })}
    ${wordSwitch({ id: `survey-replaces-${id}`, label: say("old.replaces"), value: survey.replaces === false ? "no" : "yes", of: [["yes", say("old.replaces.yes")], ["no", say("old.replaces.no")]], set: (yes) => set("replaces")(yes === "yes") })}
    <p>${removeButton(rows, id, survey.name || id)}</p>`;
}

function shotsOf(job: Job, survey: string): number {
  return Object.values(job.site.shots ?? {}).filter((shot) => shot.survey === survey).length;
}

function today(): string {
  const now = new Date();
  return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
}

/** Checks that are about any of this. */
function checks(session: Session): Template {
  const own = session.checks.value.filter(({ code, grade, accepted }) => grade !== "good" && !accepted && CODES.some((stem) => code.startsWith(stem)));
  if (own.length === 0) return nothing;
  return html`<h3>${say("site.checks" as Word)}</h3>${own.map((one) => html`<p class="check-line">${gradeMark(one.grade)} ${said(one.says)}</p>`)}`;
}
