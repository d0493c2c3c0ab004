/** Checks: the five that matter, all of them, and one of them opened. */

import { html, nothing, svg } from "lit";
import type { Advice, Finding, Grade } from "../api/types";
import { percent, shown } from "../format/shown";
import { type Word, said, say } from "../format/words";
import { attempt } from "../state/changes";
import { type Numbered, ON_SHOW, isOpen, numbered } from "../state/checks";
import { lit, openLeaf, openNext } from "../state/desk";
import { pointer } from "../state/ops";
import type { Session } from "../state/session";
import { author } from "../state/settings";
import { signal } from "../state/signal";
import { textBox } from "./boxes";
import { type Dispose, type Template, mountView } from "./view";

const GRADES: readonly Grade[] = ["stop", "look", "good"];

/** Mark of a grade: shape and word, never hue alone. */
export function gradeMark(grade: Grade, number = 0): Template {
  return html`<span class="grade grade-${grade}">
    <svg viewBox="0 0 24 24" aria-hidden="true">${gradeShape(grade)}</svg>${number > 0 ? html`<b>${number}</b>` : nothing}<span>${say(`grade.${grade}`)}</span>
  </span>`;
}

function gradeShape(grade: Grade): unknown {
  // A barred square, an open eye-like lozenge, a tick: told apart without colour.
  if (grade === "stop") return svg`<path d="M3 3h18v18H3z" class="solid" /><path d="M7 12h10" class="cut" />`;
  if (grade === "look") return svg`<path d="M12 2 22 12 12 22 2 12z" class="open" /><path d="M12 8v4m0 3v1" class="open" />`;
  return svg`<path d="m4 13 5 5L20 6" class="open" />`;
}

/** The short list beside the plan. */
export function checkList(session: Session): Template {
  // Before the first shot the model can only say that there is nothing to work on.
  const site = session.shown.value?.site;
  const isBare = Object.keys({ ...site?.shots, ...site?.clouds }).length === 0;
  const checks = isBare ? [] : numbered(session.checks.value);
  const open = checks.filter(({ finding }) => isOpen(finding));
  if (session.frame.value === null) return nothing;
  const count = (grade: Grade): number => session.checks.value.filter((finding) => finding.grade === grade && !finding.accepted).length;
  return html`<section class="checks" aria-labelledby="checks-title">
    <h2 id="checks-title">${say("checks.title")}</h2>
    <p class="quiet">
      ${checks.length === 0
        ? say("checks.none")
        : open.length === 0
          ? say("checks.allGood")
          : say("checks.counts", { stop: count("stop"), look: count("look"), good: count("good") })}
    </p>
    <ol>
      ${open.slice(0, ON_SHOW).map((one) => html`<li>${checkButton(one, () => openLeaf({ kind: "check", key: one.key }))}</li>`)}
    </ol>
    ${checks.length > 0
      ? html`<button type="button" class="plain" data-testid="checks-all" @click=${() => openLeaf({ kind: "checks" })}>
          ${open.length > ON_SHOW ? say("checks.more", { count: open.length - ON_SHOW }) : say("checks.all", { count: checks.length })}
        </button>`
      : nothing}
  </section>`;
}

export function checkButton({ number, finding }: Numbered, open: () => void): Template {
  return html`<button type="button" class="check" data-code=${finding.code} @click=${open}>
    ${gradeMark(finding.grade, number)}<span class="says">${said(finding.says)}</span>
  </button>`;
}

/** All checks by grade. */
export function mountChecks(host: HTMLElement, session: Session): Dispose {
  return mountView(host, () => {
    const checks = numbered(session.checks.value);
    const group = (title: string, some: readonly Numbered[]): Template =>
      some.length === 0
        ? nothing
        : html`<section>
            <h3>${title}</h3>
            <ol class="all-checks">
              ${some.map((one) => html`<li>${checkButton(one, () => openNext({ kind: "check", key: one.key }))}</li>`)}
            </ol>
          </section>`;
    return html`${GRADES.map((grade) =>
      group(
        `${say(`grade.${grade}`)}: ${say(`grade.${grade}.says` as Word)}`,
        checks.filter(({ finding }) => finding.grade === grade && !finding.accepted),
      ),
    )}
    ${group(
      say("checks.accepted"),
      checks.filter(({ finding }) => finding.accepted),
    )}`;
  });
}

/** One check: what is so, how far from the limit, by which source, and what to do. */
export function mountCheck(host: HTMLElement, session: Session, key: string): Dispose {
  const reason = signal("");
  const fault = signal("");
  const stop = mountView(host, () => {
    const found = numbered(session.checks.value).find((one) => one.key === key);
    if (!found) return html`<p>${say("check.gone")}</p>`;
    const { finding, number } = found;
    return html`<p>${gradeMark(finding.grade, number)} <span class="quiet">${say(`grade.${finding.grade}.says` as Word)}</span></p>
      <p class="lead">${said(finding.says)}</p>
      ${measured(session, finding)} ${placeButton(finding)}
      ${finding.advice.length > 0
        ? html`<h3>${say("check.advice")}</h3>
            <ul class="advice">
              ${finding.advice.map((advice) => html`<li>${adviceLine(session, advice)}</li>`)}
            </ul>`
        : nothing}
      ${finding.assumes.length > 0
        ? html`<h3>${say("check.assumes")}</h3>
            <ul>
              ${finding.assumes.map((what) => html`<li>${what}</li>`)}
            </ul>`
        : nothing}
      ${finding.source ? html`<h3>${say("check.source")}</h3><p>${finding.source}</p>` : nothing} ${numbersBehind(session, finding)}
      ${finding.grade === "good" ? nothing : finding.accepted ? acceptedPart(session, finding) : acceptForm(session, finding, reason, fault)}`;
  });
  const light = numbered(session.checks.value).find((one) => one.key === key);
  lit.value = light?.finding.where.points ?? [];
  return () => {
    lit.value = [];
    stop();
  };
}

function measured(session: Session, { value, limit, operator, kind }: Finding): Template {
  if (value === null) return nothing;
  // A ratio that is held to less than one is a share, and told in percent.
  const isShare = kind === "ratio" && limit !== null && Math.abs(limit) < 1;
  const text = (number: number): string => (isShare ? percent(number) : shown(number, kind, session.waterLine.value));
  return html`<dl class="lines">
    <div class="line"><dt>${say("check.is")}</dt><dd><b>${text(value)}</b></dd></div>
    ${limit === null
      ? nothing
      : html`<div class="line"><dt>${say("check.mustBe")}</dt><dd>${say(`check.${operator}` as Word, { limit: text(limit) })}</dd></div>`}
  </dl>`;
}

function placeButton({ where }: Finding): Template {
  if (where.points.length === 0) return nothing;
  return html`<button type="button" @click=${() => (lit.value = [...where.points])}>${say("check.show")}</button>`;
}

export function adviceLine(session: Session, { says, ops }: Advice): Template {
  if (ops.length === 0) return html`${says}`;
  return html`${says}
    <button type="button" class="primary" aria-label=${say("check.apply", { what: says })} @click=${() => attempt(session, says.slice(0, 200), ops)}>
      ${say("check.do")}
    </button>`;
}

function numbersBehind(session: Session, { where }: Finding): Template {
  const known = where.paths.filter((path) => session.figures.value[path] !== undefined);
  if (known.length === 0) return nothing;
  return html`<h3>${say("check.numbers")}</h3>
    <ul>
      ${known.map((path) => html`<li><button type="button" class="plain" @click=${() => openNext({ kind: "figure", path })}>${say("explain.title")}</button></li>`)}
    </ul>`;
}

function acceptForm(session: Session, finding: Finding, reason: { value: string }, fault: { value: string }): Template {
  const accept = (event: Event): void => {
    event.preventDefault();
    const [by, why] = [author.value.trim(), reason.value.trim()];
    fault.value = by && why ? "" : say("check.acceptNeeds");
    if (fault.value) return;
    const kept = session.job.value?.rules?.[finding.code] ?? {};
    const value = { ...kept, accepted: true, reason: why, by };
    attempt(session, say("check.label.accept", { code: finding.code }), [{ op: "add", path: pointer("rules", finding.code), value }]);
  };
  return html`<form class="accept" @submit=${accept}>
    <h3>${say("check.accept")}</h3>
    ${textBox({ id: "accept-name", label: say("check.acceptName"), value: author.value, set: (name) => ((author.value = name), true) })}
    <div class="box">
      <label for="accept-reason">${say("check.acceptReason")}</label>
      <textarea id="accept-reason" rows="2" .value=${reason.value} @input=${(event: Event) => (reason.value = (event.target as HTMLTextAreaElement).value)}></textarea>
    </div>
    ${fault.value ? html`<p class="fault" role="alert">${fault.value}</p>` : nothing}
    <button type="submit" data-testid="accept">${say("check.acceptDo")}</button>
  </form>`;
}

function acceptedPart(session: Session, finding: Finding): Template {
  const undo = (): void => {
    const rule = session.job.value?.rules?.[finding.code];
    const path = pointer("rules", finding.code);
    const ops =
      rule?.limit === undefined || rule.limit === null
        ? [{ op: "remove" as const, path }]
        : [{ op: "replace" as const, path, value: { ...rule, accepted: false } }];
    attempt(session, say("check.label.unaccept", { code: finding.code }), ops);
  };
  return html`<h3>${say("checks.accepted")}</h3>
    <p>${say("check.acceptedBy", { who: finding.accepted })}</p>
    <button type="button" @click=${undo}>${say("check.unaccept")}</button>`;
}
