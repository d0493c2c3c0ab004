/** The tray: edits that were refused, with the reason; tried again or dropped, never lost. */

import { html, nothing } from "lit";
import { said, say } from "../format/words";
import { tried } from "../state/changes";
import type { Session } from "../state/session";
import { type Dispose, mountView } from "./view";

export function mountTray(host: HTMLElement, session: Session): Dispose {
  return mountView(
    host,
    () => html`<p class="quiet">${say("tray.says")}</p>
      <ul class="tray">
        ${session.tray.value.map(
          (refused) => html`<li>
            <p><b>${refused.edit.label}</b></p>
            <p class="fault">${said(refused.why)}</p>
            ${refused.faults.length > 0
              ? html`<ul>
                  ${refused.faults.map((fault) => html`<li>${fault.path}: ${said(fault.rule)}${fault.found ? ` (${fault.found})` : nothing}</li>`)}
                </ul>`
              : nothing}
            <button type="button" @click=${() => tried(() => session.retry(refused))}>${say("tray.retry")}</button>
            <button type="button" @click=${() => session.dismiss(refused)}>${say("tray.drop")}</button>
          </li>`,
        )}
      </ul>`,
  );
}
