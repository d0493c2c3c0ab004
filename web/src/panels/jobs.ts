/** Jobs: the shelf of all jobs, and the ways to begin one. */

import { html, nothing } from "lit";
import {
  changeCard,
  copyExample,
  duplicateJob,
  examples,
  fileAddress,
  importJob,
  jobs,
  newJob,
  pictureAddress,
  sentenceOf,
} from "../api/rest";
import type { JobCard, ShownUnits } from "../api/types";
import { ago } from "../format/dates";
import { say } from "../format/words";
import { jobAddress } from "../state/route";
import { UNITS, author, look, units } from "../state/settings";
import { signal } from "../state/signal";
import { choiceBox, textBox, wordSwitch } from "./boxes";
import { type Dispose, type Template, fetched, mountView, waitingOr } from "./view";

export const STATES = ["asked", "seen", "quoted", "signed", "building", "care"] as const;

export function mountJobs(host: HTMLElement): Dispose {
  const archived = signal(false);
  const search = signal("");
  const name = signal("");
  const chosenUnits = signal<ShownUnits>(units.value);
  const fault = signal("");
  const shelf = fetched(() => jobs(archived.value));
  const samples = fetched(() => examples());

  const complain = (why: unknown): void => {
    fault.value = sentenceOf(why);
  };
  const open = ({ id }: { readonly id: string }): void => {
    window.location.hash = jobAddress(id);
  };
  const begin = (event: Event): void => {
    event.preventDefault();
    fault.value = name.value.trim() ? "" : say("jobs.needName");
    if (!fault.value) newJob(name.value.trim(), chosenUnits.value).then(open, complain);
  };
  const take = (file: File | undefined): void => {
    if (file) importJob(file).then(open, complain);
  };
  const change = (id: string, card: { state?: string; archived?: boolean }): void => {
    changeCard(id, card).then(() => shelf.again(), complain);
  };

  const onDrop = (event: DragEvent): void => {
    event.preventDefault();
    take(event.dataTransfer?.files[0]);
  };
  const onOver = (event: DragEvent): void => event.preventDefault();
  document.addEventListener("drop", onDrop);
  document.addEventListener("dragover", onOver);

  const card = (job: JobCard): Template => html`<li class="card">
    <a href=${jobAddress(job.id)} aria-label=${say("jobs.open", { name: job.name })} data-testid="job-${job.id}">
      <img src=${pictureAddress(job.id, job.rev)} alt=${say("jobs.picture", { name: job.name })} loading="lazy" />
      <h3>${job.name}</h3>
    </a>
    <p class="quiet">${say("jobs.changed", { when: ago(job.changed) })} · ${say("jobs.rev", { rev: job.rev })}${job.demo ? html` · <b>${say("app.invented")}</b>` : nothing}</p>
    <label class="hidden" for="state-${job.id}">${say("jobs.state", { name: job.name })}</label>
    <select id="state-${job.id}" .value=${job.state} @change=${(event: Event) => change(job.id, { state: (event.target as HTMLSelectElement).value })}>
      ${STATES.map((state) => html`<option value=${state} ?selected=${state === job.state}>${say(`state.${state}`)}</option>`)}
    </select>
    <details class="more">
      <summary aria-label=${say("jobs.more", { name: job.name })}>···</summary>
      <div>
        <button type="button" @click=${() => duplicateJob(job.id).then(() => shelf.again(), complain)}>${say("jobs.duplicate")}</button>
        <a class="button" href=${fileAddress(job.id)} download>${say("jobs.download")}</a>
        <button type="button" @click=${() => change(job.id, { archived: !job.archived })}>${say(job.archived ? "jobs.unarchive" : "jobs.archive")}</button>
      </div>
    </details>
  </li>`;

  const found = (list: readonly JobCard[]): readonly JobCard[] => {
    const wanted = search.value.trim().toLowerCase();
    return list.filter((job) => job.name.toLowerCase().includes(wanted));
  };

  const stop = mountView(
    host,
    () => html`<div class="jobs">
      <header>
        <h1>${say("app.name")}</h1>
        ${textBox({ id: "author", label: say("jobs.author"), value: author.value, set: (value) => ((author.value = value), true) })}
        ${wordSwitch({ id: "look", label: say("look.title"), value: look.value, of: [["day", say("look.day")], ["night", say("look.night")], ["sun", say("look.sun")]], set: (value) => (look.value = value) })}
      </header>
      <main id="work" tabindex="-1">
        <section class="begin" aria-label=${say("jobs.new")}>
          <form @submit=${begin}>
            <h2>${say("jobs.new")}</h2>
            <div class="box">
              <label for="new-name">${say("jobs.newName")}</label>
              <input id="new-name" data-testid="new-name" autocomplete="off" .value=${name.value} aria-invalid=${fault.value ? "true" : "false"} aria-describedby="begin-fault" @input=${(event: Event) => (name.value = (event.target as HTMLInputElement).value)} />
            </div>
            ${choiceBox({ id: "new-units", label: say("jobs.newUnits"), value: chosenUnits.value, of: UNITS.map((one) => [one, say(`units.${one}`)] as const), set: (value) => (chosenUnits.value = value) })}
            <button type="submit" class="primary" data-testid="new-start">${say("jobs.make")}</button>
            <p class="fault" id="begin-fault" role="alert">${fault.value}</p>
          </form>
          <div>
            <h2>${say("jobs.import")}</h2>
            <label class="button file">${say("jobs.import")}<input type="file" accept=".json,application/json" data-testid="import" @change=${(event: Event) => pickedFile(event, take)} /></label>
            <p class="quiet">${say("jobs.importHint")}</p>
          </div>
          <div>
            <h2>${say("jobs.examples")}</h2>
            ${waitingOr(
              samples.answer.value,
              (list) => html`<ul class="examples">
                ${list.map(
                  (one) => html`<li><button type="button" data-testid="example-${one.name}" @click=${() => copyExample(one.name).then(open, complain)}>${say("jobs.openCopy", { name: titled(one.name) })}</button> <span class="quiet">${one.says ?? ""}</span></li>`,
                )}
              </ul>`,
            )}
            <p class="quiet">${say("jobs.examplesHint")}</p>
          </div>
        </section>
        <section class="shelf" aria-label=${say("jobs.title")}>
          <div class="row">
            <h2>${say("jobs.title")}</h2>
            <div class="box"><label for="search">${say("jobs.search")}</label><input id="search" type="search" .value=${search.value} @input=${(event: Event) => (search.value = (event.target as HTMLInputElement).value)} /></div>
            <label class="tick"><input type="checkbox" .checked=${archived.value} @change=${(event: Event) => (archived.value = (event.target as HTMLInputElement).checked)} /> ${say("jobs.archived")}</label>
          </div>
          ${waitingOr(shelf.answer.value, (list) =>
            list.length === 0
              ? html`<p>${say("jobs.none")}</p>`
              : found(list).length === 0
                ? html`<p>${say("jobs.noneFound", { text: search.value })}</p>`
                : html`<ul class="cards">
                    ${found(list).map(card)}
                  </ul>`,
          )}
        </section>
      </main>
    </div>`,
  );
  return () => {
    document.removeEventListener("drop", onDrop);
    document.removeEventListener("dragover", onOver);
    shelf.stop();
    samples.stop();
    stop();
  };
}

function pickedFile(event: Event, take: (file: File | undefined) => void): void {
  const input = event.target as HTMLInputElement;
  take(input.files?.[0]);
  input.value = "";
}

/** An example's name as a title: `dozen_shots` is “Dozen shots”. */
function titled(name: string): string {
  const words = name.replaceAll("_", " ");
  return words.charAt(0).toUpperCase() + words.slice(1);
}
