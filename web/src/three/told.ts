/** What the model says of the seat from which is looked, beside the picture. */

import { html, nothing } from "lit";
import type { Field } from "../api/frame";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { figureButton } from "../panels/figures";
import type { Template } from "../panels/view";
import { fallName, fallsWords, sharePath } from "../plan/seen-falls";
import { fallsOf, streamsOf } from "../plan/streams";
import type { Session } from "../state/session";
import type { Spot } from "./seats";

/** Numbers of a seat as they stand now. */
export function toldOf(session: Session, job: Job, spot: Spot, views: Field | null): Template {
  const path = `shape.views.seats.${spot.id}`;
  const figures = session.figures.value;
  const falls = streamsOf(job).flatMap(fallsOf);
  const line = (place: string, words: string, kind: string, after = ""): Template => {
    const value = figures[place];
    return value === undefined ? nothing : html`<div class="line"><dt>${words}</dt><dd>${figureButton(session, place, words, kind, value)}${after}</dd></div>`;
  };
  return html`<section class="round-told" data-testid="seat-told" aria-label=${say("three.seenFrom", { name: spot.name })}>
    <h3>${spot.name}</h3>
    <p class="view-note">${say(`three.eye.${spot.kind}`, { high: shown(spot.eye[2] - spot.foot, "length") })}</p>
    ${figures[`${path}.share`] === undefined
      ? html`<p class="view-note">${say("three.notTold")}</p>`
      : html`<dl class="lines">
          ${line(`${path}.share`, say("three.waterSeen"), "ratio")}
          ${falls.length > 0 ? line(`${path}.falls_seen`, fallsWords(views), "count", ` ${say("three.ofAll", { count: falls.length })}`) : nothing}
          ${falls.map((fall) => line(sharePath(spot.id, fall), fallName(job, fall), "ratio"))}
        </dl>`}
  </section>`;
}
