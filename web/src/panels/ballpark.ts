/** Ballpark in the driveway: what my own last jobs say that this one will cost, as a band. */

import { html, nothing } from "lit";
import { type Ballpark, type PastJob, TRAITS, type Traits, ballpark, keepPastJob, pastJobs, removePastJob } from "../api/past-jobs";
import { sentenceOf } from "../api/rest";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { newId } from "../state/changes";
import type { Session } from "../state/session";
import { computed, signal } from "../state/signal";
import { moneyBox, numberBox, textBox, tickBox, wordSwitch } from "./boxes";
import { bodyShown } from "./figures";
import { type Dispose, type Template, fetched, mountView, waitingOr } from "./view";

type Size = "guess" | "drawn";

interface Draft extends Traits {
  readonly name: string;
  readonly area: number | null;
  readonly price: number | null;
  /** Null while nobody said otherwise: then the money of this job. */
  readonly currency: string | null;
  readonly year: number | null;
}

const PLAIN: Traits = { rocky: false, falls: false, hard_access: false, wet: false };
const EMPTY: Draft = { ...PLAIN, name: "", area: null, price: null, currency: null, year: null };
const ENOUGH = 3;

/** The size that the band is for. */
export function ballparkSays(_session: Session, { brief }: Job): string {
  return brief?.size_guess ? say("ballpark.for", { size: shown(brief.size_guess, "area") }) : say("ballpark.what");
}

export function mountBallpark(host: HTMLElement, session: Session): Dispose {
  const wanted = signal<Size>("guess");
  const traits = signal<Traits>(PLAIN);
  const draft = signal<Draft>(EMPTY);
  const fault = signal("");
  const sizes = computed(() => sizesOf(session));
  const area = computed(() => (wanted.value === "drawn" ? (sizes.value.drawn ?? sizes.value.guess) : (sizes.value.guess ?? sizes.value.drawn)));
  const money = computed(() => session.shown.value?.brief?.currency ?? "");
  const past = fetched(pastJobs);
  const hasPast = computed(() => (past.answer.value.value ?? []).length > 0);
  const band = fetched((): Promise<Ballpark | null> => {
    void money.value;
    return area.value === null || !hasPast.value ? Promise.resolve(null) : ballpark(session.id, area.value, traits.value);
  });
  const again = (): void => {
    fault.value = "";
    past.again();
    band.again();
  };
  const complain = (why: unknown): void => {
    fault.value = sentenceOf(why);
  };
  const add = (): void => {
    const { area: size, price, currency, ...rest } = draft.value;
    if (size === null || price === null) {
      fault.value = say("ballpark.needs");
      return;
    }
    const taken = Object.fromEntries((past.answer.value.value ?? []).map((job) => [job.id, job]));
    keepPastJob({ ...rest, id: newId("job", taken), area: size, price, currency: currency ?? money.value }).then(() => {
      draft.value = EMPTY;
      again();
    }, complain);
  };
  const stop = mountView(host, () => {
    const { guess, drawn } = sizes.value;
    return html`${guess !== null && drawn !== null
        ? wordSwitch<Size>({
            id: "ballpark-size",
            label: say("ballpark.size"),
            value: wanted.value,
            of: [["guess", say("ballpark.guess", { size: shown(guess, "area") })], ["drawn", say("ballpark.drawn", { size: shown(drawn, "area") })]],
            set: (next) => (wanted.value = next),
          })
        : nothing}
      ${traitTicks("this", traits.value, (change) => (traits.value = { ...traits.value, ...change }))}
      ${bandPart(area.value, hasPast.value, band.answer.value)}
      <h3>${say("ballpark.past")}</h3>
      <p class="quiet">${say("ballpark.pastSays")}</p>
      ${waitingOr(past.answer.value, (list) => pastList(list, (id) => removePastJob(id).then(again, complain)))}
      ${form(draft.value, money.value, (change) => ((draft.value = { ...draft.value, ...change }), true))}
      ${fault.value ? html`<p class="fault" role="alert">${fault.value}</p>` : nothing}
      <button type="button" data-testid="past-add" @click=${add}>${say("ballpark.add")}</button>`;
  });
  return () => {
    past.stop();
    band.stop();
    stop();
  };
}

/** Water surface that they think of, and the one that is drawn. */
function sizesOf(session: Session): Readonly<Record<Size, number | null>> {
  const body = bodyShown(session);
  return {
    guess: session.shown.value?.brief?.size_guess ?? null,
    drawn: body === null ? null : (session.figures.value[`shape.shore.bodies.${body}.area`] ?? null),
  };
}

function bandPart(area: number | null, hasPast: boolean, answer: Parameters<typeof waitingOr<Ballpark | null>>[0]): Template {
  const told = (words: string): Template => html`<p class="ballpark" data-testid="ballpark">${words}</p>`;
  if (area === null) return told(say("ballpark.noSize"));
  if (!hasPast) return told(say("ballpark.noPast"));
  if (answer.value === null) return html`<div class="ballpark" data-testid="ballpark">${answer.fault ? html`<p class="fault" role="alert">${answer.fault}</p>` : say("app.wait")}</div>`;
  const { low, likely, high, count, currency, like, stated, beyond } = answer.value;
  return html`<div class="ballpark" data-testid="ballpark">
    <p class="value">${money(low, currency)} – ${money(high, currency)}</p>
    <p>${say("ballpark.likely", { value: money(likely, currency), size: shown(area, "area") })}</p>
    <p class="quiet">
      ${count === 1 ? say("ballpark.fromOne") : say(`ballpark.like.${like}`, { count })}
      ${stated ? say("ballpark.stated", { enough: ENOUGH }) : say("ballpark.inTen")} ${beyond ? say("ballpark.beyond") : ""}
    </p>
  </div>`;
}

/** Money in round figures: a band says no more. */
function money(value: number, currency: string): string {
  const step = 10 ** Math.max(0, Math.floor(Math.log10(Math.max(value, 1))) - 1);
  return `${shown(Math.round(value / step) * step, "count")} ${currency}`.trim();
}

function traitTicks(id: string, traits: Traits, set: (change: Partial<Traits>) => void): Template {
  return html`<div class="traits">
    ${TRAITS.map((trait) => tickBox({ id: `${id}-${trait}`, label: say(`ballpark.${trait}`), value: traits[trait], set: (yes) => set({ [trait]: yes }) }))}
  </div>`;
}

function pastList(list: readonly PastJob[], remove: (id: string) => void): Template {
  return html`<ul class="past">
    ${list.map(
      (job) => html`<li>
        <span><b>${job.name || say("ballpark.noName")}</b> ${job.year ?? ""}</span>
        <span>${shown(job.area, "area")} · ${shown(job.price, "count")} ${job.currency}</span>
        <span class="quiet">${TRAITS.filter((trait) => job[trait]).map((trait) => say(`ballpark.${trait}`)).join(", ")}</span>
        <button type="button" class="plain" aria-label=${say("rows.removeThis", { name: job.name || job.id })} @click=${() => remove(job.id)}>${say("app.remove")}</button>
      </li>`,
    )}
  </ul>`;
}

function form(draft: Draft, money: string, set: (change: Partial<Draft>) => boolean): Template {
  const { name, area, price, currency, year } = draft;
  return html`<div class="row">
      ${textBox({ id: "past-name", label: say("ballpark.name"), value: name, set: (value) => set({ name: value }) })}
      ${numberBox({ id: "past-area", label: say("ballpark.area"), kind: "area", value: area, set: (value) => set({ area: value }) })}
    </div>
    <div class="row">
      ${moneyBox({ id: "past-price", label: say("ballpark.price"), value: price, currency: currency ?? money, set: (value, of) => set({ price: value, ...(of === (currency ?? money) ? {} : { currency: of }) }) })}
      ${textBox({ id: "past-currency", label: say("visit.currency"), value: currency ?? money, set: (value) => set({ currency: value }) })}
      ${yearBox(year, (value) => set({ year: value }))}
    </div>
    ${traitTicks("past", draft, set)}`;
}

/** A year is written without a space between its thousands. */
function yearBox(year: number | null, set: (year: number | null) => boolean): Template {
  const read = (text: string): boolean => {
    const number = Number(text);
    return text === "" ? set(null) : Number.isInteger(number) && set(number);
  };
  return textBox({ id: "past-year", label: say("ballpark.year"), value: year === null ? "" : String(year), set: read });
}
