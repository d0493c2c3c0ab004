/** Papers: the sheets that this job can print, looked at here and downloaded at true scale. */

import { html } from "lit";
import { paperAddress, papers } from "../api/rest";
import { say } from "../format/words";
import type { Session } from "../state/session";
import { type Dispose, fetched, mountView, waitingOr } from "./view";

export function mountPapers(host: HTMLElement, session: Session): Dispose {
  const listed = fetched(() => {
    void session.rev.value;
    return papers(session.id);
  });
  const stop = mountView(
    host,
    () => html`<div class="page">
      <h1>${say("papers.title")}</h1>
      <p class="quiet">${say("papers.wait")}</p>
      ${waitingOr(listed.answer.value, (sheets) =>
        sheets.length === 0
          ? html`<p>${say("papers.none")}</p>`
          : html`<ul class="sheets">
              ${sheets.map(
                ({ name, title }) => html`<li>
                  <h2>${title}</h2>
                  <img src=${paperAddress(session.id, name, "svg", session.rev.value)} alt=${say("papers.of", { name: title })} loading="lazy" />
                  <p><a class="button primary" data-testid="paper-${name}" href=${paperAddress(session.id, name, "pdf", session.rev.value)} download="${name}.pdf">${say("papers.download")}</a></p>
                </li>`,
              )}
            </ul>`,
      )}
    </div>`,
  );
  return () => {
    listed.stop();
    stop();
  };
}
