/** A file from outside: looked at, understood, then taken in or left. */

import { html, nothing } from "lit";
import { type IncomingFile, type Question, type TakenAs, type Understood, bringIn, leaveIt, lookAgain, sentenceOf, takeIn } from "../api/survey-rest";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { said, say, sayIfKnown } from "../format/words";
import { newId } from "../state/changes";
import { notice } from "../state/desk";
import type { Session } from "../state/session";
import { author } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import { choiceBox, numberBox, wordSwitch } from "./boxes";
import { pictureOf } from "./incoming-picture";
import { type Dispose, type Template, mountView } from "./view";

const TYPES = ".csv,.txt,.tsv,.xyz,.asc,.las,.laz,.tif,.tiff,.xml,.landxml,.geojson,.json";
const USUAL_TOLERANCE = 0.02;
const NEW_SURVEY = " new";

interface Waiting {
  readonly file: IncomingFile;
  readonly wanted: Understood;
  readonly as: TakenAs;
  readonly tolerance: number;
  readonly survey: string;
}

/** The file that waits, by job; it outlives the page. */
const waiting: Signal<Readonly<Record<string, Waiting | undefined>>> = signal({});

/** How far it has come, in one short line. */
export function incomingSays(_session: Session, job: Job): string {
  const count = Object.keys(job.site.clouds ?? {}).length;
  if (count === 0) return say("incoming.short");
  return count === 1 ? say("incoming.countOne") : say("incoming.count", { count });
}

export function mountIncoming(host: HTMLElement, session: Session): Dispose {
  const page = new IncomingPage(session);
  return mountView(host, () => page.template());
}

class IncomingPage {
  private readonly busy = signal("");
  private readonly fault = signal("");

  constructor(private readonly session: Session) {}

  template(): Template {
    const job = this.session.shown.value;
    if (job === null) return nothing;
    const held = waiting.value[this.session.id];
    return html`<p>${say("incoming.says")}</p>
      ${held ? nothing : this.drop()}
      ${this.busy.value ? html`<p role="status" data-testid="incoming-busy">${this.busy.value}</p>` : nothing}
      ${this.fault.value ? html`<p class="fault" role="alert" data-testid="incoming-fault">${said(this.fault.value)}</p>` : nothing}
      ${held ? this.preview(job, held) : nothing}
      ${this.surfaces(job)}`;
  }

  private drop(): Template {
    return html`<div
      class="drop"
      data-testid="incoming-drop"
      @dragover=${(event: DragEvent) => event.preventDefault()}
      @drop=${(event: DragEvent) => {
        event.preventDefault();
        event.stopPropagation();
        this.bring(event.dataTransfer?.files[0]);
      }}
    >
      <p>
        <label class="button file">${say("incoming.choose")}<input type="file" data-testid="incoming-file" accept=${TYPES} @change=${(event: Event) => this.chosen(event)} /></label>
        <span class="quiet">${say("incoming.kinds")}</span>
      </p>
    </div>`;
  }

  private chosen(event: Event): void {
    const input = event.target as HTMLInputElement;
    const file = input.files?.[0];
    this.bring(file);
    input.value = "";
  }

  private bring(file: File | undefined): void {
    if (!file) return;
    const first = (found: IncomingFile): Waiting => ({
      file: found, wanted: {}, as: found.kind === "shots" && found.can_be.includes("shots") ? "shots" : "cloud", tolerance: USUAL_TOLERANCE, survey: "",
    });
    this.during(say("incoming.reading", { name: file.name }), bringIn(this.session.id, file), (found) => this.hold(first(found)));
  }

  private look(held: Waiting, more: Understood): void {
    const wanted = { ...held.wanted, ...more };
    this.during(say("incoming.reading", { name: held.file.name }), lookAgain(this.session.id, held.file.token, wanted), (file) => this.hold({ ...held, wanted, file }));
  }

  private take(job: Job, held: Waiting): void {
    const { as, tolerance, file } = held;
    const survey = held.survey === NEW_SURVEY ? newId("survey", job.site.surveys ?? {}) : held.survey || null;
    const asked = takeIn(this.session.id, file.token, { as, tolerance, survey, edit: this.session.expect(), author: author.value });
    this.during(say("incoming.taking", { name: file.name }), asked, () => {
      this.hold(undefined);
      notice.value = say("incoming.taken", { name: file.name });
    });
  }

  private leave(held: Waiting): void {
    this.hold(undefined);
    this.fault.value = "";
    // Whether the server still has it makes no difference to who leaves it.
    leaveIt(this.session.id, held.file.token).catch(() => undefined);
  }

  private hold(next: Waiting | undefined): void {
    waiting.value = { ...waiting.value, [this.session.id]: next };
  }

  private during<T>(words: string, asked: Promise<T>, then: (found: T) => void): void {
    this.busy.value = words;
    this.fault.value = "";
    asked.then(then, (why: unknown) => (this.fault.value = sentenceOf(why))).finally(() => (this.busy.value = ""));
  }

  private preview(job: Job, held: Waiting): Template {
    const { file } = held;
    const [west, south, east, north] = file.extent;
    const open = file.questions.some(({ assumed }) => assumed === "");
    const busy = this.busy.value !== "";
    const change = (more: Partial<Waiting>): void => this.hold({ ...held, ...more });
    const surveys = Object.entries(job.site.surveys ?? {});
    return html`<section class="incoming" data-testid="incoming">
      <h3>${file.name}</h3>
      ${pictureOf(job, file)}
      <dl class="lines">
        <div class="line"><dt>${say(`incoming.kind.${file.kind}`)}</dt><dd data-testid="incoming-count">${say("incoming.of", { taken: file.taken, count: file.count })}</dd></div>
        <div class="line"><dt>${say("incoming.across")}</dt><dd>${shown(east - west, "length")} × ${shown(north - south, "length")}</dd></div>
        <div class="line"><dt>${say("incoming.heights")}</dt><dd>${shown(file.lowest, "elevation")} … ${shown(file.highest, "elevation")}</dd></div>
        ${file.grid_name ? html`<div class="line"><dt>${say("incoming.grid")}</dt><dd>${file.grid_name}</dd></div>` : nothing}
      </dl>
      ${file.says.map((line) => html`<p>${said(line)}</p>`)}
      ${file.left_out.map(({ count, why }) => html`<p class="quiet">${say("incoming.leftOut", { count, why })}</p>`)}
      ${file.warnings.map((line) => html`<p class="warning"><b class="look">${say("grade.look")}</b> ${said(line)}</p>`)}
      ${this.understood(held)}
      ${file.can_be.length > 1
        ? wordSwitch<TakenAs>({ id: "incoming-as", label: say("incoming.as"), value: held.as, of: file.can_be.map((as) => [as, say(`incoming.as.${as}`)] as const), set: (as) => change({ as }) })
        : nothing}
      ${held.as === "cloud"
        ? numberBox({ id: "incoming-tolerance", label: say("incoming.tolerance"), kind: "length", value: held.tolerance, needed: true, note: say("incoming.toleranceSays"), set: (tolerance) => (tolerance === null ? false : (change({ tolerance }), true)) })
        : nothing}
      ${choiceBox({
        id: "incoming-survey", label: say("incoming.survey"), value: held.survey,
        of: [["", say("incoming.survey.none")], ...surveys.map(([id, survey]) => [id, survey.name || id] as const), [NEW_SURVEY, say("incoming.survey.new")]],
        set: (survey) => change({ survey }),
      })}
      ${open ? html`<p class="fault">${say("incoming.open")}</p>` : nothing}
      <p class="row">
        <button type="button" class="primary" data-testid="incoming-take" ?disabled=${open || busy} @click=${() => this.take(job, held)}>${say("incoming.take")}</button>
        <button type="button" data-testid="incoming-leave" @click=${() => this.leave(held)}>${say("incoming.leave")}</button>
      </p>
    </section>`;
  }

  /** What the file was taken to say, and what it may be instead. */
  private understood(held: Waiting): Template {
    const { file, wanted } = held;
    const asked = file.questions.filter(({ about }) => about !== "order");
    const swapped = swappedOrder(file.order);
    return html`${asked.map((question) => this.question(held, question))}
      ${file.unit && !asked.some(({ about }) => about === "unit") && file.unit !== "degrees"
        ? html`<p class="quiet">${say("incoming.unitTold", { unit: sayIfKnown(`incoming.unit.${file.unit}`, file.unit) })}</p>`
        : nothing}
      ${swapped === null
        ? nothing
        : html`<fieldset class="switch" data-testid="incoming-order">
            <legend>${say("incoming.order")}</legend>
            <label><input type="radio" name="incoming-order" .checked=${true} /><span>${orderWords(file.order)}</span></label>
            <label><input type="radio" name="incoming-order" .checked=${false} data-testid="incoming-swap" @change=${() => this.look(held, { order: swapped })} /><span>${orderWords(swapped)}</span></label>
          </fieldset>`}
      ${file.kind === "cloud" || file.kind === "grid"
        ? wordSwitch({ id: "incoming-heights", label: say("incoming.heightsOf"), value: wanted.heights ?? "mean", of: [["mean", say("incoming.mean")], ["lowest", say("incoming.lowest")]], set: (heights) => this.look(held, { heights }) })
        : nothing}`;
  }

  private question(held: Waiting, { about, says, assumed, choices }: Question): Template {
    const answered = held.wanted[about as keyof Understood];
    const value = answered === undefined || answered === null ? assumed : String(answered);
    const answer = (choice: string): void => this.look(held, about === "epsg" ? { epsg: Number(choice) } : { [about]: choice });
    return html`<fieldset class="switch" data-testid="incoming-${about}">
      <legend>${said(says)}</legend>
      ${choices.map((choice) => html`<label><input type="radio" name="incoming-${about}" value=${choice} .checked=${choice === value} @change=${() => answer(choice)} /><span>${sayIfKnown(`incoming.unit.${choice}`, choice)}</span></label>`)}
    </fieldset>`;
  }

  /** What was taken in before. */
  private surfaces(job: Job): Template {
    const clouds = Object.entries(job.site.clouds ?? {});
    if (clouds.length === 0) return nothing;
    return html`<h3>${say("incoming.here")}</h3>
      <ul>
        ${clouds.map(([id, cloud]) => html`<li>${say("incoming.cloud", { name: cloud.name || cloud.from_file || id, points: cloud.east?.length ?? 0, count: cloud.count ?? 0, tolerance: shown(cloud.tolerance ?? 0, "length") })}</li>`)}
      </ul>`;
  }
}

/** The same columns with east and north changed for each other; null where there are none. */
export function swappedOrder(order: readonly string[]): readonly string[] | null {
  if (!order.includes("east") || !order.includes("north")) return null;
  return order.map((column) => (column === "east" ? "north" : column === "north" ? "east" : column));
}

function orderWords(order: readonly string[]): string {
  return order.map((column) => sayIfKnown(`table.${column}`, column).toLowerCase()).join(", ");
}
