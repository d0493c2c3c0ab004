/** Papers: what this job can print, looked at here and opened at true scale; the pages of a report lie inside it. */

import { html, nothing } from "lit";
import { paperAddress, papers } from "../api/rest";
import type { Sheet } from "../api/types";
import { say } from "../format/words";
import type { Session } from "../state/session";
import { type Dispose, type Template, fetched, mountView, waitingOr } from "./view";

/** One paper: its first page, and the pages after it. */
export interface Paper {
  readonly name: string;
  readonly title: string;
  readonly pages: readonly Sheet[];
}

const FURTHER = /^(.+)-\d+$/;

/** Sheets put together to papers: `name-2`, `name-3` are pages of the paper whose first sheet is `name`. */
export function papersOf(sheets: readonly Sheet[]): Paper[] {
  const found = new Map<string, Sheet[]>();
  for (const sheet of sheets) {
    const stem = FURTHER.exec(sheet.name)?.[1] ?? "";
    const pages = found.get(stem);
    if (pages) pages.push(sheet);
    else found.set(sheet.name, [sheet]);
  }
  return [...found].map(([name, pages]) => ({ name, title: titleOf(pages), pages }));
}

/** Title of a paper as a whole: without the number of its first page. */
function titleOf([first, ...rest]: readonly Sheet[]): string {
  const title = first?.title ?? "";
  return rest.length > 0 ? title.replace(/, (?:page|sheet) 1 of \d+/, "") : title;
}

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
          : html`<p><a class="button" data-testid="papers-all" href=${paperAddress(session.id, "all", "pdf", session.rev.value)} target="_blank">${say("papers.all")}</a></p>
              <ul class="sheets">
                ${papersOf(sheets).map((paper) => entry(session, paper))}
              </ul>`,
      )}
    </div>`,
  );
  return () => {
    listed.stop();
    stop();
  };
}

function entry(session: Session, { name, title, pages }: Paper): Template {
  const address = paperAddress(session.id, name, "pdf", session.rev.value);
  const many = pages.length > 1;
  return html`<li data-testid="entry-${name}">
    <h2>${title}</h2>
    <img src=${paperAddress(session.id, name, "svg", session.rev.value)} alt=${say("papers.of", { name: title })} loading="lazy" />
    <p class="buttons">
      <a class="button primary" data-testid="open-${name}" href=${address} target="_blank">${many ? say("papers.openAll", { count: pages.length }) : say("papers.open")}</a>
      <a class="button" data-testid="paper-${name}" href=${address} download="${name}.pdf">${say("papers.download")}</a>
    </p>
    ${many ? furtherPages(session, pages) : nothing}
  </li>`;
}

/** The pages after the first, small, each opened by itself. */
function furtherPages(session: Session, pages: readonly Sheet[]): Template {
  return html`<details class="pages">
    <summary>${say("papers.pages", { count: pages.length })}</summary>
    <ol>
      ${pages.map(({ name, title }, at) => {
        const picture = paperAddress(session.id, name, "svg", session.rev.value);
        return html`<li><a href=${picture} target="_blank"><img src=${picture} alt=${title} loading="lazy" /> ${say("papers.page", { number: at + 1 })}</a></li>`;
      })}
    </ol>
  </details>`;
}
