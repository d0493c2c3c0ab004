/** Under Shape: the falls of a stream, the low spot of the floor, and what is built beside the water. */

import { html, nothing } from "lit";
import type { Body, Job } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { builtOf, nameOf } from "../plan/built";
import { corridorOf, fallsOf, streamLine, streamsOf } from "../plan/streams";
import { attempt, setOps } from "../state/changes";
import type { Json } from "../state/ops";
import { pickPlace } from "../state/pick";
import type { Session } from "../state/session";
import { tool } from "../state/tool";
import { numberBox } from "./boxes";
import { figureButton, figureLine } from "./figures";
import type { Template } from "./view";

const REACH = ["shape.reach.bodies.*.share", "shape.reach.bodies.*.length", "shape.reach.bodies.*.wheelchair_places", "shape.reach.bodies.*.without_way_out"];

/** How the shore of a body is reached. */
export function reachLines(session: Session, id: string): readonly Template[] {
  return REACH.map((path) => figureLine(session, path.replace("*", id)));
}

/** Fall and low spot of a floor; a stream has neither. */
export function floorPart(session: Session, job: Job, id: string, body: Body): Template {
  if (corridorOf(body)) return nothing;
  const set = (property: string) => (value: Json): boolean => attempt(session, say(property === "low_spot" ? "shape.lowSpot" : "shape.floorFall"), setOps(job, ["shape", "bodies", id, property], value));
  const spot = body.low_spot ?? null;
  const put = (): void =>
    pickPlace({
      title: say("shape.lowSpot"),
      looks: false,
      before: spot ? { place: [spot.east, spot.north], bearing: null } : null,
      take: ({ place: [east, north] }) => void set("low_spot")({ east, north }),
    });
  return html`${numberBox({ id: `body-${id}-floor-fall`, label: say("shape.floorFall"), kind: "ratio", value: body.floor_fall ?? null, otherwise: say("shape.floorLevel"), set: set("floor_fall") })}
    <p>
      <button type="button" data-testid="low-spot" @click=${put}>${say("shape.lowSpotPut")}</button>
      ${spot ? html`<button type="button" @click=${() => set("low_spot")(null)}>${say("shape.lowSpotOut")}</button>` : html`<span class="quiet">${say("shape.lowSpotDeepest")}</span>`}
    </p>`;
}

/** The falls of a stream, each a press away. */
export function fallsPart(session: Session, job: Job, id: string): Template {
  const line = streamLine(job, id);
  if (!line) return nothing;
  const falls = fallsOf(line);
  return html`<h3>${say("shape.falls")}</h3>
    ${falls.length === 0 ? html`<p class="quiet">${say("shape.noFall")}</p>` : nothing}
    <ul>
      ${falls.map(
        ({ at, drop, distance }) => html`<li>
          <button type="button" @click=${() => (session.selection.value = { kind: "fall", id: `${id}-${at + 1}`, body: id, at })}>${say("shape.fall", { number: at + 1 })}</button>
          ${shown(drop, "length")} · ${say("plan.box.along").toLowerCase()} ${shown(distance, "length")}
        </li>`,
      )}
    </ul>
    <p><button type="button" @click=${() => (tool.value = "fall")}>${say("shape.addFall")}</button></p>`;
}

/** Ways, mounds and seats of the job, and what is seen from each seat. */
export function builtPart(session: Session, job: Job): Template {
  const all = builtOf(job);
  const choose = (kind: "way" | "mound" | "seat", id: string) => (): void => {
    tool.value = "select";
    session.selection.value = { kind, id };
  };
  return html`<h3>${say("shape.built")}</h3>
    ${all.length === 0 ? html`<p class="quiet">${say("shape.noBuilt")}</p>` : nothing}
    <ul class="built">
      ${all.map((built) => html`<li>
        <button type="button" data-testid="choose-${built.id}" @click=${choose(built.kind as "way", built.id)}>${nameOf(built)}</button>
        ${built.kind === "seat" ? seen(session, built.id) : nothing}
      </li>`)}
    </ul>
    <p>
      ${(["way", "mound", "seat"] as const).map((kind) => html`<button type="button" data-testid="add-${kind}" @click=${() => (tool.value = kind)}>${say(kind === "way" ? "shape.addWay" : kind === "mound" ? "shape.addMound" : "shape.addSeat")}</button> `)}
    </p>`;
}

function seen(session: Session, id: string): Template {
  const told = (name: string, words: string, kind: string): Template => {
    const path = `shape.views.seats.${id}.${name}`;
    const value = session.figures.value[path];
    return value === undefined ? nothing : html`${words.toLowerCase()} ${figureButton(session, path, words, kind, value)}`;
  };
  const job = session.shown.value;
  const hasFalls = job !== null && streamsOf(job).some((line) => fallsOf(line).length > 0);
  return html`${told("share", say("plan.box.seesNow"), "ratio")} ${hasFalls ? told("falls_seen", say("plan.box.fallsNow"), "count") : nothing}`;
}
