/** Photos of the site by time: where one stood, which way one looked, of what; and the same view again later. */

import { html, nothing } from "lit";
import { sentenceOf } from "../api/rest";
import type { Job, PhotoEntry } from "../api/types";
import { day, moment } from "../format/dates";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { closeLeaves, lit, notice, openNext } from "../state/desk";
import { narrow } from "../state/narrow";
import { entryId, fetchPhotos, logPhoto, photoInHand, photos, sameSpot } from "../state/photos";
import { pickPlace } from "../state/pick";
import type { Session } from "../state/session";
import { author } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import { pictureOf, sendPhoto } from "../state/upload";
import { walkList } from "../state/walk";
import type { SitePoint } from "../geometry/types";
import { choiceBox, longBox, numberBox, textBox } from "./boxes";
import { type Dispose, type Template, mountView } from "./view";

/** A photo that was taken and is not in the log yet. */
interface Taken {
  readonly session: Session;
  readonly file: File;
  /** Address of the picture in this window. */
  readonly seen: string;
  readonly place: SitePoint | null;
  readonly bearing: number | null;
  readonly of: string;
  readonly stage: string;
  readonly note: string;
  readonly repeats: string | null;
}

/** The photo in the making; it outlives the page it was begun on. */
const taken: Signal<Taken | null> = signal<Taken | null>(null);

/** Whether a photo of a job was taken and is not kept: it must not be lost in silence. */
export function photoWaits(job: string): boolean {
  return taken.value?.session.id === job;
}

/** Ask before the window is closed over a photo that is not kept; returns what ends that. */
export function guardPhoto(): Dispose {
  const asks = (event: BeforeUnloadEvent): void => {
    if (taken.value !== null) event.preventDefault();
  };
  window.addEventListener("beforeunload", asks);
  return () => window.removeEventListener("beforeunload", asks);
}

/** Keep a photo that waits as it stands, because its job is left or another photo is taken. */
export function keepWaiting(): void {
  const photo = taken.value;
  if (photo === null) return;
  taken.value = null;
  keepPhoto(photo).then(
    () => {
      URL.revokeObjectURL(photo.seen);
      notice.value = say("photos.keptAsIs");
    },
    (why: unknown) => {
      // It comes back where it was, unless the hand holds another one by now.
      taken.value ??= photo;
      notice.value = say("photos.notKept", { why: sentenceOf(why) });
    },
  );
}

/** How many photos there are, and from when the last one is. */
export function photosSays(): string {
  const last = photos.value.at(-1);
  if (photos.value.length === 1 && last) return say("photos.oneCount", { when: day(dayOf(last)) });
  return last ? say("photos.count", { count: photos.value.length, when: day(dayOf(last)) }) : say("photos.none");
}

export function mountPhotos(host: HTMLElement, session: Session): Dispose {
  const sending = signal(false);
  const fault = signal("");
  fetchPhotos(session.id).catch((why: unknown) => (fault.value = sentenceOf(why)));
  return mountView(host, () => {
    const job = session.shown.value;
    if (job === null) return nothing;
    return html`${taken.value && photoWaits(session.id) ? form(job, taken.value, sending) : html`<p>${fileButton(session, say("photos.add"), null, true)}</p>`}
      ${fault.value ? html`<p class="fault" role="alert">${fault.value}</p>` : nothing}
      ${photos.value.length === 0 ? html`<p class="quiet">${say("photos.says")}</p>` : nothing}
      <ul class="thumbs wide-thumbs">
        ${photos.value.toReversed().map((photo) => html`<li>${thumb(job, photo)}</li>`)}
      </ul>`;
  });
}

function thumb(job: Job, photo: PhotoEntry): Template {
  const again = photos.value.some((one) => one.repeats === photo.id) || Boolean(photo.repeats);
  return html`<button type="button" data-testid="photo-${photo.id}" aria-label=${say("photos.open", { name: nameOf(job, photo) })} @click=${() => openNext({ kind: "photo", id: photo.id })}>
    ${picture(photo, "")}
    <span>${nameOf(job, photo)}</span>
    <span class="quiet">${day(dayOf(photo))}${again ? ` · ${say("photos.pair")}` : ""}</span>
  </button>`;
}

function picture(photo: PhotoEntry, alt: string): Template {
  const [hash] = photo.files ?? [];
  return hash ? html`<img src=${pictureOf(hash)} alt=${alt} loading="lazy" />` : nothing;
}

// A new photo.

/** The way to the camera, or to the pictures on the device. */
function fileButton(session: Session, words: string, before: PhotoEntry | null, primary = false): Template {
  const took = (event: Event): void => {
    const input = event.target as HTMLInputElement;
    const file = input.files?.[0];
    if (file) begin(session, file, before);
    input.value = "";
  };
  return html`<label class="button file ${primary ? "primary" : ""}"
    >${words}<input type="file" accept="image/*" capture="environment" data-testid=${before ? "photo-again" : "photo-add"} @change=${took}
  /></label>`;
}

function begin(session: Session, file: File, before: PhotoEntry | null): void {
  keepWaiting();
  taken.value = {
    session,
    file,
    seen: URL.createObjectURL(file),
    place: before?.place ? [before.place.east, before.place.north] : null,
    bearing: before?.bearing ?? null,
    of: before?.of ?? "",
    stage: "",
    note: "",
    repeats: before?.id ?? null,
  };
}

function forget(): void {
  if (taken.value) URL.revokeObjectURL(taken.value.seen);
  taken.value = null;
}

function form(job: Job, photo: Taken, sending: Signal<boolean>): Template {
  const { place, bearing } = photo;
  const set = (change: Partial<Taken>): boolean => {
    if (taken.value) taken.value = { ...taken.value, ...change };
    return true;
  };
  const stand = (): void =>
    pickPlace({ title: say("photos.stood"), looks: true, before: place && { place, bearing }, take: (found) => void set({ place: found.place, bearing: found.bearing }) });
  const keep = async (): Promise<void> => {
    sending.value = true;
    try {
      await keepPhoto(taken.value ?? photo);
      forget();
    } catch (fault) {
      notice.value = sentenceOf(fault);
    } finally {
      sending.value = false;
    }
  };
  const earlier = photo.repeats ? photos.value.find((one) => one.id === photo.repeats) : undefined;
  return html`<section class="taken" aria-label=${say("photos.new")} data-testid="photo-form">
    <div class=${earlier ? "pair" : ""}>
      ${earlier ? html`<figure>${picture(earlier, say("photos.before"))}<figcaption>${say("photos.before")}</figcaption></figure>` : nothing}
      <figure><img src=${photo.seen} alt=${say("photos.new")} />${earlier ? html`<figcaption>${say("photos.now")}</figcaption>` : nothing}</figure>
    </div>
    ${longBox({ id: "photo-note", label: say("photos.note"), value: photo.note, set: (note) => set({ note }) })}
    ${choiceBox({ id: "photo-of", label: say("photos.of"), value: photo.of, of: subjects(job), set: (of) => void set({ of }) })}
    <div class="box">
      <span>${say("photos.stood")}</span>
      <p class="stood">
        <button type="button" data-testid="photo-stand" @click=${stand}>${say(place ? "photos.otherPlace" : "photos.onPlan")}</button>
        <span class="quiet" data-testid="photo-stood">${place ? standing(place, bearing) : say("photos.noPlace")}</span>
      </p>
    </div>
    <div class="row">
      ${numberBox({ id: "photo-bearing", label: say("photos.bearing"), kind: "angle", value: bearing, set: (angle) => set({ bearing: angle }) })}
      ${textBox({ id: "photo-stage", label: say("photos.stage"), value: photo.stage, otherwise: say("photos.stageSample"), set: (stage) => set({ stage }) })}
    </div>
    <p class="quiet">${say("photos.notYet")}</p>
    <div class="ends">
      <button type="button" class="primary" data-testid="photo-keep" ?disabled=${sending.value} @click=${keep}>${say(sending.value ? "photos.sending" : "photos.keep")}</button>
      <button type="button" @click=${forget}>${say("photos.drop")}</button>
    </div>
  </section>`;
}

async function keepPhoto({ session, file, place, bearing, of, stage, note, repeats }: Taken): Promise<void> {
  const hash = await sendPhoto(session.id, file);
  await logPhoto(session.id, {
    kind: "photo",
    id: entryId(),
    time: new Date(file.lastModified || Date.now()).toISOString(),
    files: [hash],
    ...(author.value ? { by: author.value } : {}),
    ...(note ? { note } : {}),
    ...(place ? { place: { east: place[0], north: place[1] } } : {}),
    ...(bearing === null ? {} : { bearing }),
    ...(of ? { of } : {}),
    ...(stage ? { stage } : {}),
    ...(repeats ? { repeats } : {}),
  });
}

// One photo.

/** One photo, large; beside it the first and the last from the same spot. */
export function mountPhoto(host: HTMLElement, session: Session, id: string): Dispose {
  photoInHand.value = id;
  const sending = signal(false);
  const stop = mountView(host, () => {
    const job = session.shown.value;
    const photo = photos.value.find((one) => one.id === id);
    if (job === null || photo === undefined) return html`<p>${say("photos.gone")}</p>`;
    if (taken.value?.repeats === id) return form(job, taken.value, sending);
    const { place = null, bearing = null, note, by, stage } = photo;
    const spot: SitePoint | null = place && [place.east, place.north];
    const show = (): void => {
      if (spot) lit.value = [spot];
      // Where the page covers the plan, it goes so that the place can be seen.
      if (narrow.value) closeLeaves();
    };
    return html`${pairOf(job, photo)}
      <dl class="lines">
        ${fact(say("photos.of"), photo.of ? subjectName(job, photo.of) : "")} ${fact(say("photos.when"), moment(photo.time))} ${fact(say("photos.by"), by)}
        ${fact(say("photos.stage"), stage)} ${fact(say("photos.stood"), spot ? standing(spot, bearing) : "")}
      </dl>
      ${note ? html`<p>${note}</p>` : nothing}
      <div class="buttons">${fileButton(session, say("photos.again"), photo)} ${spot ? html`<button type="button" @click=${show}>${say("check.show")}</button>` : nothing}</div>`;
  });
  return () => {
    photoInHand.value = null;
    stop();
  };
}

function pairOf(job: Job, photo: PhotoEntry): Template {
  const spot = sameSpot(photos.value, photo.id);
  const other = spot.length < 2 ? undefined : photo.id === spot[0]?.id ? spot.at(-1) : spot[0];
  if (other === undefined) {
    const [hash] = photo.files ?? [];
    return hash ? html`<a class="whole" href=${pictureOf(hash)} target="_blank" rel="noopener">${picture(photo, nameOf(job, photo))}</a>` : nothing;
  }
  const [before, after] = photo.id === spot[0]?.id ? [photo, other] : [other, photo];
  const when = dayOf(before) === dayOf(after) ? (entry: PhotoEntry): string => moment(entry.time) : (entry: PhotoEntry): string => day(dayOf(entry));
  const one = (entry: PhotoEntry): Template => {
    const [hash = ""] = entry.files ?? [];
    return html`<figure><a href=${pictureOf(hash)} target="_blank" rel="noopener">${picture(entry, nameOf(job, entry))}</a><figcaption>${when(entry)}</figcaption></figure>`;
  };
  return html`<div class="pair" data-testid="photo-pair">${one(before)} ${one(after)}</div>`;
}

function fact(name: string, value: string | undefined): Template {
  return value ? html`<div class="line"><dt>${name}</dt><dd>${value}</dd></div>` : nothing;
}

function standing(place: SitePoint, bearing: number | null): string {
  const [east, north] = place.map((value) => shown(value, "length"));
  const at = say("walk.at", { east: east ?? "", north: north ?? "" });
  return bearing === null ? at : `${at}, ${say("photos.looks", { angle: shown(bearing, "angle") })}`;
}

// What a photo shows.

/** What a photo can be of: the waters, the things, the lines, the points of the walk. */
function subjects(job: Job): readonly (readonly [string, string])[] {
  const rows = (path: string, map: Readonly<Record<string, { readonly name?: string }>> | undefined) =>
    Object.entries(map ?? {}).map(([id, row]) => [`${path}.${id}`, row.name || id.replaceAll("_", " ")] as const);
  return [
    ["", say("photos.ofNothing")],
    ...rows("shape.bodies", job.shape.bodies),
    ...rows("site.things", job.site.things),
    ...rows("site.bounds", job.site.bounds),
    ...walkList.value.map((point) => [`site.walk.${point.id}`, point.ask] as const),
  ];
}

function subjectName(job: Job, of: string): string {
  return subjects(job).find(([path]) => path === of)?.[1] ?? of;
}

function nameOf(job: Job, photo: PhotoEntry): string {
  return photo.note || (photo.of ? subjectName(job, photo.of) : "") || say("photos.photo");
}

/** The day of a photo where the browser stands. */
function dayOf({ time }: PhotoEntry): string {
  const found = new Date(time);
  return `${found.getFullYear()}-${found.getMonth() + 1}-${found.getDate()}`;
}
