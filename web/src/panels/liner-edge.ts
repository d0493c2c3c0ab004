/** How the liner ends: its edge along stretches of the shore, low places, liner in view; the water test before stone; cautions. */

import { html, nothing } from "lit";
import type { EdgeDetail, LinerEdge } from "../api/lining";
import type { LowTold } from "../api/lining-told";
import type { Job } from "../api/types";
import { writeNumber } from "../format/numbers";
import { percent, shown } from "../format/shown";
import { said, say } from "../format/words";
import type { RimTold } from "../plan/lining-fields";
import { OUTER, ringOf, stretchPoints } from "../plan/rings";
import type { Session } from "../state/session";
import { choiceBox, numberBox, textBox, tickBox } from "./boxes";
import { figureLine } from "./figures";
import { USUAL } from "./liner-form";
import { figureLines, showPlaces } from "./liner-order";
import { type Lined, type LinerOf, partChecks } from "./liner-parts";
import { type RowsOf, addRow, fieldSetter, foldedRow, removeButton } from "./rows";
import type { Template } from "./view";
import { duration } from "./water-building";

/** Bare liner of so little area is none [m²]. */
const BARE = 0.05;
/** A slope with so much in hand needs no second look. */
const WELL_HELD = 2;
const DETAILS: readonly EdgeDetail[] = ["upturn", "anchor", "wall"];

export function edgePart(lined: Lined, liner: LinerOf, rims: readonly RimTold[] | null): Template {
  const { session, job } = lined;
  const edges = Object.entries(job.lining?.edges ?? {}).filter(([, { place }]) => liner.row.bodies.includes(place.body));
  const rows: RowsOf = { session, job, at: ["lining", "edges"], label: say("liner.edgeRow") };
  return html`<h3>${say("liner.edge")}</h3>
    <p class="quiet">${say("liner.edgeSay", { height: shown(USUAL.height, "length") })}</p>
    ${(rims ?? []).map((rim) => rimPart(lined, rim, (rims ?? []).length > 1))} ${partChecks(session, liner, "edge")}
    ${edges.map(([id, row]) => edgeEntry(lined, rows, id, row))} ${addEdgePart(rows, job, liner)}`;
}

const RIM = [
  ["length", "liner.edgeLength"],
  ["edge_low", "liner.edgeLow"],
  ["lack", "liner.edgeLack"],
  ["no_break", "liner.noBreak"],
] as const;

function rimPart(lined: Lined, rim: RimTold, several: boolean): Template {
  const { job, figures } = lined;
  const stem = `lining.rim.bodies.${rim.body}`;
  const of = (what: string): number | undefined => figures[`${stem}.${what}`];
  const low = ({ place, lack, over_water: over, length, point }: LowTold): Template => {
    const words = say(over < 0 ? "liner.lowUnder" : "liner.lowPlace", { place: said(place), lack: shown(lack, "length"), over: shown(Math.abs(over), "length"), length: shown(length, "length") });
    return html`<li><button type="button" class="plain" @click=${() => showPlaces([point])}>${words}</button></li>`;
  };
  const band = of("band.height");
  const views = Object.entries(rim.views).filter(([id]) => (of(`views.${id}.length`) ?? 0) > 0);
  return html`${several ? html`<h4>${job.shape.bodies?.[rim.body]?.name || rim.body}</h4>` : nothing} ${figureLines(lined, stem, RIM.filter(([name]) => name === "length" || name === "edge_low" || (of(name) ?? 0) > 0))}
    ${rim.lows.length === 0 ? html`<p class="quiet" data-testid="no-lows-${rim.body}">${say("liner.noLows")}</p>` : html`<ol class="told" data-testid="lows-${rim.body}">${rim.lows.map(low)}</ol>`}
    ${band === undefined
      ? nothing
      : html`<p>${say((of("band.bare") ?? 0) > BARE ? "liner.band" : "liner.bandCovered", { height: shown(band, "length"), length: shown(of("band.length"), "length"), bare: shown(of("band.bare"), "area") })}</p>
          ${views.length === 0
            ? nothing
            : html`<ul class="told">
                ${views.map(([id]) => html`<li>${say("liner.seenFrom", { from: placeName(job, id), length: shown(of(`views.${id}.length`), "length"), share: percent(of(`views.${id}.share`) ?? 0) })}</li>`)}
              </ul>`}`}
    ${builtPart(rim)} ${slopesPart(rim)}`;
}

/** Shots on the edge as it was built that are out of tolerance. */
function builtPart({ built }: RimTold): Template {
  const out = built.filter(({ off }) => off !== 0);
  if (built.length === 0) return nothing;
  if (out.length === 0) return html`<p class="quiet">${say("liner.builtGood", { count: built.length })}</p>`;
  return html`<ul class="told">
    ${out.map(({ place, point, off }) => html`<li><button type="button" class="plain" @click=${() => showPlaces([point])}>${say(off < 0 ? "liner.builtLow" : "liner.builtHigh", { place: said(place), by: shown(Math.abs(off), "length") })}</button></li>`)}
  </ul>`;
}

const held = (safety: number | null): string => (safety !== null && safety < WELL_HELD ? writeNumber(safety, 2) : say("liner.wellHeld"));

/** Whether stone and gravel stay on the liner, slope by slope. */
function slopesPart({ slopes }: RimTold): Template {
  const loose = slopes.filter(({ safety }) => safety !== null && safety < WELL_HELD);
  // Of the same zone under several kinds of bank the one that holds least.
  const steep = [...new Set(loose.map(({ zone }) => zone))].flatMap((zone) => loose.filter((one) => one.zone === zone).sort((one, other) => (one.safety_toe ?? Infinity) - (other.safety_toe ?? Infinity)).slice(0, 1));
  if (slopes.length === 0) return nothing;
  if (steep.length === 0) return html`<p class="quiet">${say("liner.slopesHold")}</p>`;
  const columns = ["zone", "slope", "safety", "safety_toe"] as const;
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("liner.slopes")}>
    <table class="plain soil-account short">
      <caption>${say("liner.slopes")}</caption>
      <thead><tr>${columns.map((name) => html`<th scope="col">${say(`liner.slope.${name}`)}</th>`)}</tr></thead>
      <tbody>
        ${steep.map(
          ({ place, slope, safety, safety_toe: withToe }) => html`<tr><th scope="row">${place}</th><td>${shown(slope, "slope")}</td><td>${held(safety)}</td><td>${held(withToe)}</td></tr>`,
        )}
      </tbody>
    </table>
  </div>`;
}

/** Name of a seat or a way. */
function placeName(job: Job, id: string): string {
  return job.shape.seats?.[id]?.name || job.shape.ways?.[id]?.name || id;
}

// Edges along stretches.

/** What is worked out of an edge along a stretch. */
const OF_A_STRETCH: readonly ((id: string) => string)[] = [
  ...["length", "reach"].map((what) => (id: string) => `stretches.${id}.${what}`),
  ...["trench", "capacity", "strength"].map((what) => (id: string) => `anchor.${id}.${what}`),
];

function edgeEntry({ job, session, figures }: Lined, rows: RowsOf, id: string, row: LinerEdge): Template {
  const set = fieldSetter(rows, id);
  const { place } = row;
  const ring = ringOf(job, { body: place.body, ring: place.ring ?? OUTER });
  const points = ring ? stretchPoints(ring, place) : [];
  const detail = row.detail ?? "upturn";
  const stem = `lining.rim.bodies.${place.body}`;
  const pegs = (ring?.curve.pegs ?? []).map(({ id: peg }) => [peg, peg] as const);
  const move = (end: "start" | "end") => (peg: string): void => void set("place")({ ...place, [end]: peg });
  return foldedRow(
    rows,
    id,
    html`<b>${row.name || say(`liner.detail.${detail}`)}</b> <span class="quiet">${say("liner.fromTo", { start: place.start, end: place.end })}</span>`,
    html`${textBox({ id: `edges-${id}-name`, label: say("soilwork.name"), value: row.name ?? "", otherwise: id, set: (value) => set("name")(value || null) })}
      ${choiceBox<EdgeDetail>({ id: `edges-${id}-detail`, label: say("liner.detail"), value: detail, of: DETAILS.map((one) => [one, say(`liner.detail.${one}`)] as const), set: (one) => void set("detail")(one) })}
      <div class="row">
        ${choiceBox({ id: `edges-${id}-start`, label: say("plan.box.from"), value: place.start, of: pegs, set: move("start") })}
        ${choiceBox({ id: `edges-${id}-end`, label: say("plan.box.to"), value: place.end, of: pegs, set: move("end") })}
        ${numberBox({ id: `edges-${id}-height`, label: say("liner.edgeHeight"), kind: "length", value: row.height ?? null, otherwise: shown(USUAL.height, "length"), set: set("height") })}
        ${detail === "upturn" ? numberBox({ id: `edges-${id}-upturn`, label: say("liner.upturn"), kind: "length", value: row.upturn ?? null, otherwise: shown(USUAL.upturn, "length"), set: set("upturn") }) : nothing}
      </div>
      ${tickBox({ id: `edges-${id}-break`, label: say("liner.capillary"), value: row.capillary_break ?? true, set: (on) => void set("capillary_break")(on) })}
      <dl class="lines">${OF_A_STRETCH.map((what) => (figures[`${stem}.${what(id)}`] === undefined ? nothing : figureLine(session, `${stem}.${what(id)}`)))}</dl>
      <div class="buttons">
        <button type="button" @click=${() => showPlaces(points)}>${say("soilwork.onPlan")}</button>
        ${removeButton(rows, id, row.name || id)}
      </div>`,
  );
}

/** A stretch of its own begins as the first half of the shore; its pegs are chosen then. */
function addEdgePart(rows: RowsOf, job: Job, liner: LinerOf): Template {
  const body = liner.row.bodies.find((one) => job.shape.bodies?.[one]?.outline.form === "ring");
  const ring = body === undefined ? null : ringOf(job, { body, ring: OUTER });
  const pegs = ring?.curve.pegs ?? [];
  const [start, end] = [pegs[0], pegs[Math.floor(pegs.length / 2)]];
  if (!start || !end || start === end) return nothing;
  const add = (): void => void addRow(rows, "edge", { place: { at: "stretch", body, start: start.id, end: end.id } });
  return html`<button type="button" data-testid="add-edge" @click=${add}>${say("liner.addEdge")}</button>`;
}

// The water test before stone.

const TEST = [
  ["level", "liner.test.level"],
  ["volume", "liner.test.volume"],
  ["evaporation", "liner.test.evaporation"],
  ["allowed", "liner.test.allowed"],
  ["detects", "liner.test.detects"],
  ["leak", "liner.test.leak"],
] as const;

export function testPart(lined: Lined, liner: LinerOf, rims: readonly RimTold[] | null): Template {
  const tests = (rims ?? []).filter(({ steps }) => steps.length > 0);
  return html`<h3>${say("liner.test")}</h3>
    <p class="quiet">${say("liner.testSay")}</p>
    ${tests.map(({ body, steps }) => {
      const stem = `lining.rim.bodies.${body}.test`;
      const hours = lined.figures[`${stem}.hours`];
      return html`${tests.length > 1 ? html`<h4>${lined.job.shape.bodies?.[body]?.name || body}</h4>` : nothing}
        <ol class="told" data-testid="test-${body}">${steps.map((step) => html`<li>${said(step)}</li>`)}</ol>
        <dl class="lines">
          ${hours === undefined ? nothing : html`<div class="line"><dt>${say("liner.test.hours")}</dt><dd>${duration(hours)}</dd></div>`}
        </dl>
        ${figureLines(lined, stem, TEST)}`;
    })}
    ${partChecks(lined.session, liner, "test")}`;
}

/** What is to be minded of the liner and stands nowhere above. */
export function cautionsPart(session: Session, liner: LinerOf): Template {
  const rest = partChecks(session, liner, "rest");
  return rest === nothing ? nothing : html`<h3>${say("liner.cautions")}</h3>${rest}`;
}
