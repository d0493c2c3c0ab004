/** The box of photos: choose one, tie it to the plan, see how far each tie is off. */

import { html, nothing } from "lit";
import { ask } from "../api/rest";
import type { Job, Tie, Underlay } from "../api/types";
import { format } from "../format/units";
import { choiceBox } from "../panels/boxes";
import type { Template } from "../panels/view";
import { attempt, newId } from "../state/changes";
import { notice } from "../state/desk";
import { pointer } from "../state/ops";
import { units } from "../state/settings";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import type { Boxed } from "./box";
import { misses, onPhoto, placingOf } from "./photo";
import { json } from "./rings";
import { say } from "./say";

const inHand: Signal<string> = signal("");

export function photoBox(boxed: Boxed, job: Job): Template {
  const photos = Object.entries(job.site.underlays ?? {});
  const id = photos.some(([name]) => name === inHand.value) ? inHand.value : (photos[0]?.[0] ?? "");
  const photo = job.site.underlays?.[id];
  if (photo) keepTie(boxed, id, photo);
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${say("plan.tool.photo")} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${say("plan.tool.photo")}</h3>
    <div class="box">
      <label for="photo-file">${say("plan.box.choosePhoto")}</label>
      <input id="photo-file" data-testid="photo-file" type="file" accept="image/png,image/jpeg" @change=${(event: Event) => void taken(boxed, job, event.target as HTMLInputElement)} />
    </div>
    ${photos.length > 1
      ? choiceBox({ id: "photo-which", label: say("plan.box.photo"), value: id, of: photos.map(([name, row]) => [name, row.name || name] as const), set: (name) => (inHand.value = name) })
      : nothing}
    ${photo ? tieList(boxed, id, photo) : nothing}
    <div class="buttons"><button type="button" @click=${() => (tool.value = "select")}>${say("plan.box.stop")}</button></div>
  </form>`;
}

function tieList({ session }: Boxed, id: string, photo: Underlay): Template {
  const ties = photo.ties ?? [];
  const placing = placingOf(ties);
  const off = placing ? misses(placing, ties) : [];
  const untie = (at: number): void => void attempt(session, say("plan.label.untie"), [tiesOp(id, ties.toSpliced(at, 1))]);
  return html`<ol class="ties">
    ${ties.map((_, at) => {
      const number = at + 1;
      const miss = off[at];
      return html`<li>
        ${miss === undefined ? say("plan.box.looseTie", { number }) : say("plan.box.tie", { number, miss: format(miss, "length", units.value) })}
        <button type="button" aria-label="${say("plan.box.removeTie")} ${number}" @click=${() => untie(at)}>${say("plan.box.removeTie")}</button>
      </li>`;
    })}
  </ol>`;
}

/** A tie whose two places are pressed becomes part of the job. */
function keepTie({ session, hand, photos }: Boxed, id: string, photo: Underlay): void {
  const tie = hand.draft.value?.tie;
  const placing = photos.photo(id)?.placing;
  const to = tie?.to;
  if (!tie || !to || !placing) return;
  const [across, down] = onPhoto(placing, tie.from);
  const ties: Tie[] = [...(photo.ties ?? []), { across, down, east: to[0], north: to[1] }];
  queueMicrotask(() => {
    if (hand.draft.value?.tie !== tie) return;
    hand.draft.value = {};
    attempt(session, say("plan.label.tie"), [tiesOp(id, ties)]);
  });
}

function tiesOp(id: string, ties: readonly Tie[]) {
  return { op: "add", path: pointer("site", "underlays", id, "ties"), value: json(ties) } as const;
}

async function taken({ session }: Boxed, job: Job, input: HTMLInputElement): Promise<void> {
  const file = input.files?.[0];
  if (!file) return;
  try {
    const { hash } = await ask<{ hash: string }>("PUT", `/jobs/${session.id}/files`, file);
    const id = newId("photo", job.site.underlays ?? {});
    const value = json({ file: hash, name: file.name.slice(0, 100) });
    if (attempt(session, say("plan.label.photo"), [{ op: "add", path: pointer("site", "underlays", id), value }])) inHand.value = id;
  } catch (fault) {
    notice.value = (fault as Error).message;
  } finally {
    // Else the same file could not be chosen again.
    input.value = "";
  }
}
