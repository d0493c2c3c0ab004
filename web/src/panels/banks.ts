/** Bank types, and which of them holds from here to here along the shore. */

import { html, nothing } from "lit";
import type { BankType, Body, Job, Stretch } from "../api/types";
import { say } from "../format/words";
import { OUTER, attempt, curveOf, newId, setOps } from "../state/changes";
import { type Json, type Op, pointer } from "../state/ops";
import { READY_BANKS, bankTypeOps, banksToChoose } from "../state/ready-banks";
import type { Session } from "../state/session";
import { choiceBox, numberBox, textBox } from "./boxes";
import type { Template } from "./view";

/** Stretches of a body with a bank type of their own. */
export function stretchesPart(session: Session, job: Job, id: string, body: Body): Template {
  const stretches = Object.entries(body.stretches ?? {});
  return html`<h4>${say("shape.stretches")}</h4>
    ${stretches.length === 0 ? html`<p class="quiet">${say("shape.noStretch")}</p>` : nothing}
    <ul class="stretches">
      ${stretches.map(([key, stretch]) => html`<li>${stretchBoxes(session, job, id, body, key, stretch)}</li>`)}
    </ul>
    <button type="button" @click=${() => addStretch(session, job, id, body)}>${say("shape.addStretch")}</button>`;
}

function stretchBoxes(session: Session, job: Job, id: string, body: Body, key: string, stretch: Stretch): Template {
  const rings = [OUTER, ...Object.keys(body.islands ?? {})];
  const ring = stretch.ring ?? OUTER;
  const pegs = (curveOf(body, ring)?.pegs ?? []).map((peg) => [peg.id, peg.id] as const);
  const path = ["shape", "bodies", id, "stretches", key];
  const change = (next: Partial<Stretch>, before: readonly Op[] = []): boolean =>
    attempt(session, say("shape.stretches"), [...before, { op: "replace", path: pointer(...path), value: { ...stretch, ...next } as unknown as Json }]);
  const onRing = (name: string): boolean => {
    const first = curveOf(body, name)?.pegs[0]?.id ?? "";
    return change({ ring: name, start: first, end: first });
  };
  return html`<div class="row">
    ${rings.length > 1
      ? choiceBox({ id: `${key}-ring`, label: say("shape.ring"), value: ring, of: rings.map((name) => [name, name === OUTER ? say("shape.outer") : name] as const), set: onRing })
      : nothing}
    ${choiceBox({ id: `${key}-start`, label: say("shape.from"), value: stretch.start, of: pegs, set: (start) => change({ start }) })}
    ${choiceBox({ id: `${key}-end`, label: say("shape.to"), value: stretch.end, of: pegs, set: (end) => change({ end }) })}
    ${choiceBox({
      id: `${key}-type`,
      label: say("shape.bank"),
      value: stretch.bank_type,
      of: banksToChoose(job),
      set: (type) => change({ bank_type: type }, bankTypeOps(job, type)),
    })}
    <button type="button" aria-label="${say("app.remove")} ${key}" @click=${() => attempt(session, say("shape.stretches"), [{ op: "remove", path: pointer(...path) }])}>${say("app.remove")}</button>
  </div>`;
}

function addStretch(session: Session, job: Job, id: string, body: Body): void {
  const pegs = body.outline.curve.pegs;
  const [first, second] = [pegs[0], pegs[1]];
  const type = banksToChoose(job)[0]?.[0];
  if (!first || !second || !type) return;
  const key = newId("stretch", body.stretches ?? {});
  const value = { ring: OUTER, start: first.id, end: second.id, bank_type: type };
  attempt(session, say("shape.addStretch"), [...bankTypeOps(job, type), { op: "add", path: pointer("shape", "bodies", id, "stretches", key), value }]);
}

/** The bank types of the job, corner by corner. */
export function bankTypesPart(session: Session, job: Job): Template {
  const types = job.shape.bank_types ?? {};
  const add = (id: string): boolean => attempt(session, say("shape.addBankType"), bankTypeOps(job, id));
  const ready = [...READY_BANKS].filter(([id]) => !(id in types)).map(([id, type]) => [id, type.name ?? id] as const);
  return html`<details class="fold">
    <summary>${say("shape.bankTypes")} (${Object.keys(types).length})</summary>
    ${Object.entries(types).map(([key, type]) => bankType(session, job, key, type))}
    ${ready.length === 0
      ? nothing
      : choiceBox({ id: "bank-ready", label: say("shape.addBankType"), value: "", of: [["", say("shape.chooseBank")] as const, ...ready], set: (id) => id !== "" && add(id) })}
  </details>`;
}

function bankType(session: Session, job: Job, key: string, type: BankType): Template {
  const path = ["shape", "bank_types", key];
  const setPoints = (points: BankType["points"], zoneNames = type.zone_names): boolean =>
    attempt(session, say("shape.bankTypes"), [
      { op: "replace", path: pointer(...path), value: { ...type, points, zone_names: zoneNames ?? [] } as unknown as Json },
    ]);
  const setPoint = (at: number, property: "distance" | "depth", value: number | null): boolean =>
    value !== null && setPoints(type.points.map((point, index) => (index === at ? { ...point, [property]: value } : point)));
  const without = <T>(list: readonly T[] | undefined, at: number): T[] => (list ?? []).filter((_, index) => index !== at);
  const last = type.points.at(-1);
  return html`<section class="bank">
    ${textBox({ id: `bank-${key}-name`, label: say("shape.bankName"), value: type.name ?? "", otherwise: key, set: (name) => attempt(session, say("shape.bankName"), setOps(job, [...path, "name"], name)) })}
    ${type.points.map(
      (point, at) =>
        html`<div class="row" role="group" aria-label=${say("shape.point", { at: at + 1 })}>
          ${numberBox({ id: `bank-${key}-${at}-distance`, label: say("shape.distance"), kind: "length", value: point.distance, needed: true, set: (value) => setPoint(at, "distance", value) })}
          ${numberBox({ id: `bank-${key}-${at}-depth`, label: say("shape.depth"), kind: "length", value: point.depth, needed: true, set: (value) => setPoint(at, "depth", value) })}
          ${at > 0 && type.points.length > 2
            ? html`<button type="button" aria-label=${say("shape.removePoint", { at: at + 1 })} @click=${() => setPoints(without(type.points, at), without(type.zone_names, at))}>×</button>`
            : nothing}
        </div>`,
    )}
    ${last
      ? html`<button type="button" @click=${() => setPoints([...type.points, { distance: last.distance + 1, depth: last.depth }], [])}>${say("shape.addPoint")}</button>`
      : nothing}
    <button type="button" @click=${() => attempt(session, say("app.remove"), [{ op: "remove", path: pointer(...path) }])}>${say("app.remove")}</button>
  </section>`;
}
