/** Sections that are kept for the papers: choose one, keep the line of now, name it, take it out. */

import { type TemplateResult, html, nothing } from "lit";
import type { Job, SectionLine } from "../api/types";
import { say } from "../format/words";
import type { SitePoint } from "../geometry/types";
import { choiceBox, textBox } from "../panels/boxes";
import { pointsOf } from "../plan/gestures/soil";
import { keptSection, sectionLine } from "../plan/mark";
import { json } from "../plan/rings";
import { attempt, newId, setOps } from "../state/changes";
import { pointer } from "../state/ops";
import type { Session } from "../state/session";

/** Sections of a job by id. */
export function sectionsOf(job: Job | null): Readonly<Record<string, SectionLine>> {
  return job?.shape.sections ?? {};
}

/** Line of a kept section. */
export function lineOf({ line }: SectionLine): SitePoint[] {
  return line.map(({ east, north }): SitePoint => [east, north]);
}

export function keptPart(session: Session, job: Job): TemplateResult {
  const kept = sectionsOf(job);
  const id = keptSection.value;
  const row = id === null ? undefined : kept[id];
  const nameOf = (key: string): string => kept[key]?.name || key;
  const show = (key: string): void => {
    const chosen = kept[key];
    keptSection.value = chosen ? key : null;
    if (chosen) sectionLine.value = lineOf(chosen);
  };
  const keep = (): void => {
    const line = sectionLine.value;
    const key = newId("section", kept);
    if (line === null || line.length < 2) return;
    if (attempt(session, say("section.added"), [{ op: "add", path: pointer("shape", "sections", key), value: json({ line: pointsOf(line) }) }])) keptSection.value = key;
  };
  const remove = (): void => {
    if (id !== null && attempt(session, say("section.remove", { name: nameOf(id) }), [{ op: "remove", path: pointer("shape", "sections", id) }])) keptSection.value = null;
  };
  return html`<details class="kept-sections fold" data-testid="sections-kept">
    <summary>${say("section.keptCount", { count: Object.keys(kept).length })}</summary>
    <div>
  ${Object.keys(kept).length > 0
    ? choiceBox({ id: "section-kept", label: say("section.kept"), value: row ? (id as string) : "", of: [["", say("section.notKept")], ...Object.keys(kept).map((key) => [key, nameOf(key)] as const)], set: show })
    : nothing}
  ${row && id !== null
    ? html`${textBox({ id: `section-${id}-name`, label: say("section.name"), value: row.name ?? "", otherwise: id, set: (name) => attempt(session, say("section.rename"), setOps(job, ["shape", "sections", id, "name"], name)) })}
        <button type="button" data-testid="section-remove" aria-label=${say("section.remove", { name: nameOf(id) })} @click=${remove}>${say("app.remove")}</button>`
    : html`<button type="button" data-testid="section-keep" @click=${keep}>${say("section.keep")}</button>`}
    </div>
  </details>`;
}
