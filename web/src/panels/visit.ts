/** Job card: what is asked on the first call. Nothing of it is needed for anything else to work. */

import { html, nothing } from "lit";
import { changeCard, jobCard, sentenceOf } from "../api/rest";
import type { Brief, Job } from "../api/types";
import { day } from "../format/dates";
import { type Word, say } from "../format/words";
import { attempt, setOps } from "../state/changes";
import { notice } from "../state/desk";
import type { Json } from "../state/ops";
import type { Session } from "../state/session";
import { choiceBox, dayBox, longBox, moneyBox, numberBox, textBox, wordSwitch } from "./boxes";
import { STATES } from "./jobs";
import { type Dispose, type Template, fetched, mountView } from "./view";

type Lines = "client" | "address" | "found_us" | "decides" | "currency" | "next_step";
type Days = "first_asked" | "next_on" | "dig_from" | "done_by";

/** For whom, and what happens next. */
export function cardSays(_session: Session, { brief }: Job): string {
  const next = brief?.next_step && [brief.next_step, brief.next_on ? day(brief.next_on) : ""].filter(Boolean).join(", ");
  return [brief?.client, brief?.address, next].filter(Boolean).join(" · ") || say("visit.nothing");
}

export function mountCard(host: HTMLElement, session: Session): Dispose {
  const card = fetched(() => jobCard(session.id));
  const stop = mountView(host, () => {
    const job = session.shown.value;
    return job === null ? nothing : cardPage(session, job, card.answer.value.value?.state ?? "asked", () => card.again());
  });
  return () => {
    card.stop();
    stop();
  };
}

function cardPage(session: Session, job: Job, state: string, again: () => void): Template {
  const brief = job.brief ?? {};
  const change = (word: Word, keys: readonly string[]) => (value: Json): boolean => attempt(session, say(word), setOps(job, keys, value));
  const set = (word: Word, field: keyof Brief) => change(word, ["brief", field]);
  const line = (field: Lines): Template =>
    textBox({ id: `card-${field}`, label: say(`visit.${field}`), value: brief[field] ?? "", set: set(`visit.${field}`, field) });
  const onDay = (field: Days): Template =>
    dayBox({ id: `card-${field}`, label: say(`visit.${field}`), value: brief[field] ?? null, set: set(`visit.${field}`, field) });
  const move = (next: string): void => void changeCard(session.id, { state: next }).then(again, (why: unknown) => (notice.value = sentenceOf(why)));
  const spend = (budget: number | null, currency: string): boolean =>
    attempt(session, say("visit.budget"), [
      ...setOps(job, ["brief", "budget"], budget),
      ...(currency === (brief.currency ?? "") ? [] : setOps(job, ["brief", "currency"], currency)),
    ]);
  const pond = brief.old_pond === true ? "old" : brief.old_pond === false ? "new" : "unknown";
  return html`<p class="quiet">${say("visit.says")}</p>
    ${textBox({ id: "card-name", label: say("visit.name"), value: job.name, set: (name) => name !== "" && change("visit.name", ["name"])(name) })}
    ${choiceBox({ id: "card-state", label: say("visit.state"), value: state, of: STATES.map((one) => [one as string, say(`state.${one}`)] as const), set: move })}
    ${line("client")} ${longBox({ id: "card-address", label: say("visit.address"), value: brief.address ?? "", set: set("visit.address", "address") })}
    <div class="row">${line("found_us")} ${line("decides")}</div>
    <h3>${say("visit.wanted")}</h3>
    ${wordSwitch({
      id: "card-old_pond",
      label: say("visit.old_pond"),
      value: pond,
      of: (["old", "new", "unknown"] as const).map((one) => [one, say(`visit.pond.${one}`)] as const),
      set: (one) => void set("visit.old_pond", "old_pond")(one === "unknown" ? null : one === "old"),
    })}
    ${numberBox({
      id: "card-size_guess",
      label: say("visit.size_guess"),
      kind: "area",
      value: brief.size_guess ?? null,
      note: say("visit.sizeNote"),
      set: set("visit.size_guess", "size_guess"),
    })}
    <div class="row">
      ${moneyBox({ id: "card-budget", label: say("visit.budget"), value: brief.budget ?? null, currency: brief.currency ?? "", set: spend })}
      ${line("currency")}
    </div>
    <h3>${say("visit.when")}</h3>
    ${line("next_step")}
    <div class="days">${onDay("next_on")} ${onDay("first_asked")} ${onDay("dig_from")} ${onDay("done_by")}</div>`;
}
