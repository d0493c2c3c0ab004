/** The place of the field page, until it is built. */

import { html } from "lit";
import { say } from "../format/words";
import { type Dispose, mountView } from "./view";

export function mountField(host: HTMLElement): Dispose {
  return mountView(
    host,
    () => html`<div class="page">
      <h1>${say("field.title")}</h1>
      <p class="lead">${say("field.says")}</p>
    </div>`,
  );
}
