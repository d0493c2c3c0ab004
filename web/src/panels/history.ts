/** History: every revision, with a way back, and the versions that have a name. */

import { html, nothing } from "lit";
import { history, keepVersion, restore, sentenceOf, versions } from "../api/rest";
import { ago } from "../format/dates";
import { say } from "../format/words";
import { notice } from "../state/desk";
import type { Session } from "../state/session";
import { author } from "../state/settings";
import { signal } from "../state/signal";
import { type Dispose, type Template, fetched, mountView, waitingOr } from "./view";

const PAGE = 50;

export function mountHistory(host: HTMLElement, session: Session): Dispose {
  const edits = fetched(() => {
    void session.rev.value;
    return history(session.id);
  });
  const named = fetched(() => versions(session.id));
  const count = signal(PAGE);
  const name = signal("");
  const signer = signal("");
  const fault = signal("");

  const bringBack = (rev: number): void => {
    restore(session.id, rev, author.value).catch((why: unknown) => (notice.value = sentenceOf(why)));
  };
  const keep = (event: Event): void => {
    event.preventDefault();
    fault.value = name.value.trim() ? "" : say("history.needName");
    if (fault.value) return;
    keepVersion(session.id, name.value.trim(), signer.value.trim()).then(
      () => {
        name.value = "";
        named.again();
      },
      (why: unknown) => (fault.value = sentenceOf(why)),
    );
  };
  const restoreButton = (rev: number): Template =>
    rev === session.rev.value
      ? html`<span class="quiet">${say("history.now")}</span>`
      : html`<button type="button" aria-label=${say("history.restoreWhat", { rev })} @click=${() => bringBack(rev)}>${say("history.restore")}</button>`;

  const stop = mountView(
    host,
    () => html`<h3>${say("history.versions")}</h3>
      ${waitingOr(named.answer.value, (list) =>
        list.length === 0
          ? html`<p class="quiet">${say("history.noVersions")}</p>`
          : html`<ul class="revisions">
              ${list.map(
                (one) => html`<li>
                  <span><b>${one.name}</b> <span class="quiet">${say("jobs.rev", { rev: one.rev })} · ${say("history.by", { who: one.signed_by || say("history.someone"), when: ago(one.time) })}</span></span>
                  ${restoreButton(one.rev)}
                </li>`,
              )}
            </ul>`,
      )}
      <form class="version" @submit=${keep}>
        <div class="box"><label for="version-name">${say("history.versionName")}</label>
          <input id="version-name" data-testid="version-name" .value=${name.value} aria-describedby="version-fault" @input=${(event: Event) => (name.value = (event.target as HTMLInputElement).value)} /></div>
        <div class="box"><label for="version-signer">${say("history.signedBy")}</label>
          <input id="version-signer" .value=${signer.value} @input=${(event: Event) => (signer.value = (event.target as HTMLInputElement).value)} /></div>
        <span class="fault" id="version-fault" role="alert">${fault.value}</span>
        <button type="submit">${say("history.keepVersion")}</button>
      </form>
      <h3>${say("history.title")}</h3>
      ${waitingOr(edits.answer.value, (list) => {
        const newest = list.toReversed();
        return html`<ol class="revisions" reversed>
            ${newest.slice(0, count.value).map(
              (one) => html`<li>
                <span>${one.label || say("jobs.rev", { rev: one.rev })} <span class="quiet">${one.rev} · ${say("history.by", { who: one.author || say("history.someone"), when: ago(one.time) })}</span></span>
                ${restoreButton(one.rev)}
              </li>`,
            )}
            ${newest.length <= count.value ? html`<li><span>${say("history.first")}</span>${restoreButton(0)}</li>` : nothing}
          </ol>
          ${newest.length > count.value ? html`<button type="button" @click=${() => (count.value += PAGE)}>${say("history.older")}</button>` : nothing}`;
      })}`,
  );
  return () => {
    edits.stop();
    named.stop();
    stop();
  };
}
