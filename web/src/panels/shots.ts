/** The first minutes: a dozen shots pasted, typed or dropped, looked at, and taken. */

import { html, nothing } from "lit";
import { previewShots, sentenceOf } from "../api/rest";
import type { PreviewRow, ReadAs, ShotsPreview } from "../api/types";
import { shown } from "../format/shown";
import { said, say } from "../format/words";
import { attempt, nextIds } from "../state/changes";
import { closeLeaf, closeLeaves, leaves, notice, openLeaf, openNext } from "../state/desk";
import { type Json, pointer } from "../state/ops";
import { narrow } from "../state/narrow";
import type { Session } from "../state/session";
import { units } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import { ofSurvey } from "../state/survey-in-hand";
import { tool } from "../state/tool";
import { choiceBox, wordSwitch } from "./boxes";
import { type Dispose, type Template, mountView } from "./view";

const COLUMNS = ["east", "north", "elevation", "code"] as const;
const MOST_SHOWN = 200;

/** What was typed and not yet taken; it outlives the panel. */
const typed: Signal<string> = signal("");

export function mountShots(host: HTMLElement, session: Session): Dispose {
  const preview = signal<ShotsPreview | null>(null);
  const fault = signal("");
  let as: ReadAs = {};
  let newest = 0;
  // Opened by itself it leads on to the shoreline; opened from the site it only adds.
  const leadsOn = leaves.value.length === 1;

  const look = (text: string, next: ReadAs = {}): void => {
    typed.value = text;
    as = next;
    newest += 1;
    const mine = newest;
    if (text.trim() === "") {
      preview.value = null;
      fault.value = "";
      return;
    }
    previewShots(text, units.value, session.id, as).then(
      (found) => {
        if (mine !== newest) return;
        preview.value = found.fault ? null : found;
        fault.value = said(found.fault);
      },
      (why: unknown) => {
        if (mine === newest) fault.value = sentenceOf(why);
      },
    );
  };
  if (typed.value.trim() !== "") look(typed.value);
  // What was said of a text holds while its first line stands: another text is read anew.
  const retype = (text: string): void => look(text, firstLine(text) === firstLine(typed.value) ? as : {});
  const takeFile = (file: File | undefined): void => {
    if (file) file.text().then((text) => look(text), (why: unknown) => (fault.value = sentenceOf(why)));
  };
  const add = (rows: readonly PreviewRow[]): void => {
    if (!addShots(session, rows)) return;
    typed.value = "";
    preview.value = null;
    const hasWater = Object.keys(session.job.value?.shape.bodies ?? {}).length > 0;
    const goesOn = leadsOn && !hasWater;
    notice.value = goesOn ? say("start.done", { count: rows.length }) : say("start.added", { count: rows.length });
    if (goesOn) tool.value = "shoreline";
    // On a narrow page no other leaf may come back over the new water.
    if (goesOn && narrow.value) closeLeaves();
    else closeLeaf();
  };

  const draw = (): void => {
    tool.value = "shoreline";
    if (narrow.value) closeLeaves();
  };

  return mountView(host, () => {
    const rows = preview.value?.rows ?? [];
    const good = rows.filter(isSound);
    return html`<p class="first-call">${say("visit.first")} <button type="button" data-testid="to-site" @click=${() => openLeaf({ kind: "site" })}>${say("visit.openSite")}</button></p>
      <p>${say("start.says")}</p>
      <div
        class="drop"
        @dragover=${(event: DragEvent) => event.preventDefault()}
        @drop=${(event: DragEvent) => {
          event.preventDefault();
          event.stopPropagation();
          takeFile(event.dataTransfer?.files[0]);
        }}
      >
        <label for="shots-text">${say("start.box")}</label>
        <textarea
          id="shots-text"
          data-testid="shots-text"
          rows="8"
          spellcheck="false"
          placeholder=${say("start.sample")}
          .value=${typed.value}
          @input=${(event: Event) => retype((event.target as HTMLTextAreaElement).value)}
        ></textarea>
        <p>
          <label class="button file">${say("start.file")}<input type="file" accept=".csv,.txt,.tsv,.xyz,text/*" @change=${(event: Event) => chosen(event, takeFile)} /></label>
          <span class="quiet">${say("start.dropHint")}</span>
        </p>
      </div>
      ${fault.value ? html`<p class="fault" role="alert">${fault.value}</p>` : nothing}
      ${preview.value ? html`${readingPart(preview.value, as, (change) => look(typed.value, { ...as, ...change }))} ${previewTable(preview.value)}` : nothing}
      ${rows.length > good.length ? html`<p class="fault">${say("start.skipped", { count: rows.length - good.length })}</p>` : nothing}
      ${preview.value
        ? html`<button type="button" class="primary" data-testid="shots-add" ?disabled=${good.length === 0} @click=${() => add(good)}>
            ${good.length === 0 ? say("start.addNone") : good.length === 1 ? say("start.addOne") : say("start.add", { count: good.length })}
          </button>`
        : nothing}
      <p><button type="button" data-testid="to-locate" @click=${() => openNext({ kind: "site-page", name: "locate" })}>${say("locate.open")}</button></p>
      <h3>${say("start.second")}</h3>
      <p>${say("start.secondSays")}</p>
      <button type="button" @click=${draw}>${say("shape.draw")}</button>
      <h3>${say("start.third")}</h3>
      <p>${say("start.thirdSays")}</p>`;
  });
}

function firstLine(text: string): string {
  return text.trimStart().split("\n", 1)[0] ?? "";
}

function chosen(event: Event, take: (file: File | undefined) => void): void {
  const input = event.target as HTMLInputElement;
  take(input.files?.[0]);
  input.value = "";
}

/** Whether a row can be a shot: no fault, and a place. */
function isSound(row: PreviewRow): boolean {
  return Object.keys(row.errors).length === 0 && row.east !== null && row.north !== null;
}

/** How the rows were read, what looks wrong with that, and the two ways to have them read otherwise. */
function readingPart({ columns, says, unit, warnings }: ShotsPreview, as: ReadAs, change: (next: ReadAs) => void): Template {
  const turn: Readonly<Record<string, string>> = { east: "north", north: "east" };
  const turned = columns.map((column) => turn[column] ?? column);
  const first = columns.indexOf("north") < columns.indexOf("east") ? "north" : "east";
  const own = as.unit ?? "";
  return html`<p class=${warnings.length > 0 ? "fault" : ""} data-testid="shots-says" role="status">${said(says)}</p>
    <div class="row" data-testid="shots-reading">
      ${wordSwitch<"east" | "north">({
        id: "shots-order",
        label: say("start.order"),
        value: first,
        of: [["east", say("start.order.east")], ["north", say("start.order.north")]],
        set: (next) => {
          if (next !== first) change({ order: turned });
        },
      })}
      ${choiceBox<"" | "m" | "ft" | "ftUS">({
        id: "shots-unit",
        label: say("start.unit"),
        value: own,
        of: [["", own === "" ? say("start.unit.found", { unit }) : say("start.unit.asFound")], ["m", say("start.unit.m")], ["ft", say("start.unit.ft")], ["ftUS", say("start.unit.ftUS")]],
        set: (next) => change({ unit: next === "" ? undefined : next }),
      })}
    </div>`;
}

function previewTable({ rows }: ShotsPreview): Template {
  return html`<div class="wide">
      <table class="plain preview">
        <thead>
          <tr><th scope="col">${say("start.row")}</th>${COLUMNS.map((column) => html`<th scope="col">${say(`table.${column}`)}</th>`)}</tr>
        </thead>
        <tbody>
          ${rows.slice(0, MOST_SHOWN).map(
            (row, at) => html`<tr class=${isSound(row) ? "" : "refused"}>
              <th scope="row">${at + 1}</th>
              ${COLUMNS.map((column) => {
                const value = row[column];
                const text = typeof value === "number" ? shown(value, column === "elevation" ? "elevation" : "length") : value;
                return html`<td>${text}${row.errors[column] ? html`<span class="fault">${said(row.errors[column])}</span>` : nothing}</td>`;
              })}
            </tr>`,
          )}
        </tbody>
      </table>
    </div>`;
}

function addShots(session: Session, rows: readonly PreviewRow[]): boolean {
  const job = session.job.value;
  if (job === null) return false;
  const ids = nextIds("s", job.site.shots ?? {}, rows.length);
  return attempt(
    session,
    say("start.label", { count: rows.length }),
    rows.map((row, at) => ({ op: "add" as const, path: pointer("site", "shots", ids[at] as string), value: { ...(shotOf(row) as object), ...ofSurvey(job) } as Json })),
  );
}

function shotOf(row: PreviewRow): Json {
  return {
    place: { by: "coordinates", east: row.east, north: row.north },
    ...(row.elevation === null ? {} : { elevation: row.elevation }),
    ...(row.code ? { code: row.code } : {}),
    ...(row.name ? { name: row.name } : {}),
  };
}
