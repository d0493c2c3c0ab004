/** Site in hand: what was surveyed, what it tells, and what nobody has looked at yet. */

import { html, nothing } from "lit";
import type { Job } from "../api/types";
import { say } from "../format/words";
import { attempt, setOps } from "../state/changes";
import { numbered } from "../state/checks";
import { openNext } from "../state/desk";
import type { Json } from "../state/ops";
import { jobAddress } from "../state/route";
import type { Session } from "../state/session";
import { numberBox, textBox } from "./boxes";
import { checkButton } from "./checks";
import { figureLine } from "./figures";
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
  const brief = (job["brief"] ?? {}) as { readonly client?: string; readonly address?: string };
  const frame = job.site.frame ?? {};
  const set = (label: string, keys: readonly string[]) => (value: Json): boolean => attempt(session, label, setOps(job, keys, value));
  const own = numbered(session.checks.value).filter(({ finding }) => finding.code.startsWith("site."));
  return html`${textBox({ id: "site-name", label: say("site.name"), value: job.name, set: (name) => name !== "" && set(say("site.name"), ["name"])(name) })}
    ${textBox({ id: "site-client", label: say("site.client"), value: brief.client ?? "", set: set(say("site.client"), ["brief", "client"]) })}
    ${textBox({ id: "site-address", label: say("site.address"), value: brief.address ?? "", set: set(say("site.address"), ["brief", "address"]) })}
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
          <ol class="all-checks">
            ${own.map((one) => html`<li>${checkButton(one, () => openNext({ kind: "check", key: one.key }))}</li>`)}
          </ol>`
      : nothing}
    <button type="button" @click=${() => openNext({ kind: "defaults" })}>${say("defaults.title")}</button>`;
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
