/** Site in hand: what was surveyed, what it tells, and what nobody has looked at yet. */

import { html, nothing } from "lit";
import type { Job } from "../api/types";
import { say } from "../format/words";
import { attempt, setOps } from "../state/changes";
import { type Numbered, isOpen, numbered } from "../state/checks";
import { openNext } from "../state/desk";
import type { Json } from "../state/ops";
import { jobAddress } from "../state/route";
import type { Session } from "../state/session";
import { numberBox, textBox } from "./boxes";
import { checkButton } from "./checks";
import { figureLine } from "./figures";
import { SITE_SECTIONS, type SiteSection } from "./site-sections";
import { type Dispose, type Template, mountView } from "./view";

const SURVEY = ["ground.shot_count", "ground.survey_area", "ground.lowest", "ground.highest", "uncertainty.sigma_typical"];
const RIM = ["low_rim", "guessed_share", "hollow_lip", "hollow_volume", "hollow_area"];

export function mountSite(host: HTMLElement, session: Session): Dispose {
  return mountView(host, () => {
    const job = session.shown.value;
    return job === null ? nothing : siteLeaf(session, job);
  });
}

function siteLeaf(session: Session, job: Job): Template {
  const frame = job.site.frame ?? {};
  const set = (label: string, keys: readonly string[]) => (value: Json): boolean => attempt(session, label, setOps(job, keys, value));
  const own = numbered(session.checks.value).filter(({ finding }) => finding.code.startsWith("site."));
  return html`${pages(session, job, "site.firstVisit")} ${pages(session, job, "site.ground")}
    <h3>${say("site.survey")}</h3>
    <p>
      <button type="button" class="primary" @click=${() => openNext({ kind: "shots" })}>${say("site.addShots")}</button>
      <a class="button" href=${jobAddress(session.id, "tables")}>${say("site.openTable")}</a>
    </p>
    <dl class="lines">
      ${SURVEY.map((name) => figureLine(session, `site.${name}`))} ${counts(job)}
    </dl>
    ${Object.entries(job.shape.bodies ?? {}).map(
      ([id, body]) => html`<h3>${say("site.rim", { body: body.name || id })}</h3>
        <dl class="lines">${RIM.map((name) => figureLine(session, `site.existing.bodies.${id}.${name}`))}</dl>`,
    )}
    ${numberBox({
      id: "site-true-north",
      label: say("site.trueNorth"),
      kind: "angle",
      value: frame.true_north ?? 0,
      set: set(say("site.trueNorth"), ["site", "frame", "true_north"]),
    })}
    ${textBox({ id: "site-datum", label: say("site.heightZero"), value: frame.datum_note ?? "", set: set(say("site.heightZero"), ["site", "frame", "datum_note"]) })}
    ${own.length > 0
      ? html`<h3>${say("site.checks")}</h3>
          ${checkItems(own.filter(({ finding }) => isOpen(finding)))}
          <details class="fold"><summary>${say("site.otherChecks", { count: own.filter(({ finding }) => !isOpen(finding)).length })}</summary>${checkItems(own.filter(({ finding }) => !isOpen(finding)))}</details>`
      : nothing}
    <button type="button" @click=${() => openNext({ kind: "defaults" })}>${say("defaults.title")}</button>`;
}

function checkItems(some: readonly Numbered[]): Template {
  return html`<ol class="all-checks">
    ${some.map((one) => html`<li>${checkButton(one, () => openNext({ kind: "check", key: one.key }))}</li>`)}
  </ol>`;
}

/** The pages of a group: each a line with how far it has come. */
function pages(session: Session, job: Job, group: SiteSection["group"]): Template {
  const own = SITE_SECTIONS.filter((one) => one.group === group);
  if (own.length === 0) return nothing;
  return html`<h3>${say(group)}</h3>
    <ul class="pages">
      ${own.map(
        (one) => html`<li>
          <button type="button" data-testid="site-${one.name}" @click=${() => (one.lead ? one.lead(session) : openNext({ kind: "site-page", name: one.name }))}>
            <b>${say(one.title)}</b><span class="quiet">${one.says(session, job)}</span>
          </button>
        </li>`,
      )}
    </ul>`;
}

function counts(job: Job): Template {
  const rows = [
    [say("site.lines"), job.site.lines],
    [say("site.soils"), job.site.soils],
    [say("site.things"), job.site.things],
    [say("site.marks"), job.site["marks"] as object | undefined],
    [say("site.underlays"), job.site.underlays],
  ] as const;
  return html`${rows.map(([words, map]) => html`<div class="line"><dt>${words}</dt><dd>${Object.keys(map ?? {}).length}</dd></div>`)}`;
}
