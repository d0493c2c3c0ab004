/** Walk list: what to look at before anything is priced. "Not looked at" is an answer too. */

import { html, nothing } from "lit";
import { sentenceOf } from "../api/rest";
import type { Job, WalkAnswer } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { attempt } from "../state/changes";
import { closeLeaves, lit, notice } from "../state/desk";
import { narrow } from "../state/narrow";
import { type Json, pointer } from "../state/ops";
import { entryId, logPhoto } from "../state/photos";
import { pickPlace } from "../state/pick";
import type { Session } from "../state/session";
import { author } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import { pictureOf, sendPhoto } from "../state/upload";
import { type Asked, type Progress, asked, fetchWalk, grouped, progressOf, walkFault, walkList } from "../state/walk";
import { canLocate, whereIStand } from "../state/where";
import { longBox } from "./boxes";
import { type RowsOf, addRow, putRow, removeButton } from "./rows";
import { type Dispose, type Template, mountView } from "./view";

const ANSWERS = ["fine", "trouble", "none", "not_looked"] as const;

function pointsOf(job: Job): readonly Asked[] {
  return asked(job, walkList.value, say("walk.ownGroup"));
}

function progressWords({ looked, of, trouble }: Progress): string {
  const words = say("walk.progress", { looked, of });
  return trouble > 0 ? `${words} · ${say("walk.troubleCount", { count: trouble })}` : words;
}

/** How many points were looked at. */
export function walkSays(_session: Session, job: Job): string {
  return walkList.value.length === 0 ? "" : progressWords(progressOf(pointsOf(job)));
}

export function mountWalk(host: HTMLElement, session: Session): Dispose {
  const own = signal("");
  void fetchWalk();
  return mountView(host, () => {
    const job = session.shown.value;
    if (job === null) return nothing;
    const rows: RowsOf = { session, job, at: ["site", "walk"], label: say("walk.point") };
    const points = pointsOf(job);
    const progress = progressOf(points);
    return html`<div class="progress" data-testid="walk-progress">
        <span>${progressWords(progress)}</span>
        <svg class="progress-bar" viewBox="0 0 100 1" preserveAspectRatio="none" aria-hidden="true"><rect width=${progress.of === 0 ? 0 : (100 * progress.looked) / progress.of} height="1" /></svg>
      </div>
      ${walkFault.value ? html`<p class="fault" role="alert">${walkFault.value}</p>` : nothing}
      ${grouped(points).map(
        ([group, some]) => html`<h3>${group}</h3>
          <ul class="walk">
            ${some.map((point) => html`<li>${pointRow(rows, point)}</li>`)}
          </ul>`,
      )}
      ${ownPoint(rows, own)}`;
  });
}

function ownPoint(rows: RowsOf, own: Signal<string>): Template {
  const add = (event: Event): void => {
    event.preventDefault();
    const ask = own.value.trim();
    if (ask && addRow(rows, "own", { ask }) !== null) own.value = "";
  };
  return html`<form class="adding" @submit=${add}>
    <div class="box">
      <label for="walk-own">${say("walk.own")}</label>
      <input id="walk-own" data-testid="walk-own" type="text" autocomplete="off" placeholder=${say("walk.ownSample")} .value=${own.value} @input=${(event: Event) => (own.value = (event.target as HTMLInputElement).value)} />
    </div>
    <button type="submit">${say("walk.addOwn")}</button>
  </form>`;
}

function pointRow(rows: RowsOf, point: Asked): Template {
  const { id, ask, why, answer } = point;
  const given = answer?.answer ?? "not_looked";
  const put = (change: Partial<WalkAnswer>): boolean => putRow(rows, id, { ...answer, ...change });
  return html`<div role="group" aria-label=${ask} data-testid="walk-${id}">
      <p class="ask" title=${why ?? ""}>${ask}</p>
      <div class="answers">
        ${ANSWERS.map(
          (one) => html`<button type="button" class="answer-${one}" data-testid="walk-${id}-${one}" aria-pressed=${given === one ? "true" : "false"} @click=${() => put({ answer: one })}>
            ${say(`walk.${one}`)}
          </button>`,
        )}
      </div>
    </div>
    ${given === "not_looked" && !answer?.says && !answer?.files?.length ? (point.own ? removeButton(rows, id, ask) : nothing) : moreOf(rows, point, put)}`;
}

/** What was seen there, a picture of it, and where. */
function moreOf(rows: RowsOf, { id, ask, own, answer }: Asked, put: (change: Partial<WalkAnswer>) => boolean): Template {
  const files = answer?.files ?? [];
  const place = answer?.place ?? null;
  return html`<details class="fold more-of" ?open=${answer?.answer === "trouble"}>
    <summary>${answer?.says || say("walk.more")}${files.length > 0 ? html` <span class="quiet">${files.length === 1 ? say("photos.one") : say("photos.some", { count: files.length })}</span>` : nothing}</summary>
    ${longBox({ id: `walk-${id}-says`, label: say("walk.says"), value: answer?.says ?? "", set: (says) => put({ says }) })}
    ${files.length > 0
      ? html`<div class="thumbs">${files.map((hash) => html`<a href=${pictureOf(hash)} target="_blank" rel="noopener"><img src=${pictureOf(hash)} alt=${say("walk.photoOf", { ask })} loading="lazy" /></a>`)}</div>`
      : nothing}
    <div class="buttons">
      <label class="button file"
        >${say("walk.photo")}<input
          type="file"
          accept="image/*"
          capture="environment"
          data-testid="walk-${id}-photo"
          @change=${(event: Event) => void taken(rows, { id, answer }, event.target as HTMLInputElement)}
      /></label>
      ${placeButtons(rows, ask, place, (next) => put({ place: next }))} ${own ? removeButton(rows, id, ask) : nothing}
    </div>
    ${place === null ? nothing : html`<p class="quiet">${say("walk.at", { east: shown(place.east, "length"), north: shown(place.north, "length") })}</p>`}
  </details>`;
}

type PointPlace = NonNullable<WalkAnswer["place"]>;

function placeButtons({ job }: RowsOf, title: string, place: PointPlace | null, put: (place: PointPlace) => boolean): Template {
  const before = place && { place: [place.east, place.north] as const, bearing: null };
  const press = (): void => pickPlace({ title, looks: false, before, take: ({ place: [east, north] }) => void put({ at: "point", east, north }) });
  const stand = (): void =>
    void whereIStand(job).then(
      ({ east, north }) => put({ at: "point", east, north }),
      (why: unknown) => (notice.value = sentenceOf(why)),
    );
  const show = (): void => {
    if (place) lit.value = [[place.east, place.north]];
    if (narrow.value) closeLeaves();
  };
  return html`<button type="button" @click=${press}>${say("walk.place")}</button>
    ${canLocate(job) ? html`<button type="button" @click=${stand}>${say("walk.here")}</button>` : nothing}
    ${place === null ? nothing : html`<button type="button" class="plain" @click=${show}>${say("check.show")}</button>`}`;
}

/** A photo belongs to the answer, and stands among the photos of the job by its time. */
async function taken({ session }: RowsOf, { id, answer }: { id: string; answer: WalkAnswer | undefined }, input: HTMLInputElement): Promise<void> {
  const file = input.files?.[0];
  if (!file) return;
  try {
    const hash = await sendPhoto(session.id, file);
    // The answer may have changed while the photo was on its way.
    const now = session.job.value?.site.walk?.[id] ?? answer;
    const value = { ...now, files: [...(now?.files ?? []), hash] };
    if (!attempt(session, say("walk.photoLabel"), [{ op: "add", path: pointer("site", "walk", id), value: value as unknown as Json }])) return;
    const place = now?.place ? { east: now.place.east, north: now.place.north } : null;
    await logPhoto(session.id, {
      kind: "photo",
      id: entryId(),
      time: new Date().toISOString(),
      ...(author.value ? { by: author.value } : {}),
      files: [hash],
      of: `site.walk.${id}`,
      ...(place ? { place } : {}),
    });
  } catch (fault) {
    notice.value = sentenceOf(fault);
  } finally {
    // Else the same photo could not be chosen again.
    input.value = "";
  }
}
