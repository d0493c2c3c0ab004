/** Brief: wishes in the client's words, each of them tied to a check where there is one; people; permits. */

import { html, nothing } from "lit";
import { wishOffers } from "../api/rest";
import type { Finding, Job, Permit, Person, Wish, WishOffer } from "../api/types";
import { day } from "../format/dates";
import { type Kind, isKind } from "../format/units";
import { said, say } from "../format/words";
import { figureInfo } from "../state/catalogue";
import { numbered } from "../state/checks";
import { openNext } from "../state/desk";
import type { Session } from "../state/session";
import { type Signal, signal } from "../state/signal";
import { choiceBox, dayBox, longBox, numberBox, textBox, tickBox } from "./boxes";
import { gradeMark } from "./checks";
import { type RowsOf, addRow, fieldSetter, foldedRow, putRow, removeButton } from "./rows";
import { type Dispose, type Template, fetched, mountView } from "./view";
import { figureOf, numberOf, offerOf, rowOf, rowsFor, tiedToCheck, tiedToFigure, untied } from "./wishes";

const NOTHING = "nothing";
const OTHER = "other";

/** How many wishes there are, and how many of them are met. */
export function briefSays(session: Session, job: Job): string {
  const wishes = Object.keys(job.brief?.wishes ?? {});
  const permits = Object.keys(job.brief?.permits ?? {}).length;
  if (wishes.length + permits === 0) return say("brief.none");
  const met = wishes.filter((id) => findingOf(session, id)?.finding.grade === "good").length;
  return [say("brief.count", { count: wishes.length, met }), permits > 0 ? say("brief.permitCount", { count: permits }) : ""].filter(Boolean).join(" · ");
}

export function mountBrief(host: HTMLElement, session: Session): Dispose {
  const offers = fetched(wishOffers);
  const text = signal("");
  // What was chosen for a wish and has no number yet: the document cannot hold that.
  const chosen = signal<Readonly<Record<string, string>>>({});
  const stop = mountView(host, () => {
    const job = session.shown.value;
    if (job === null) return nothing;
    const { value, fault } = offers.answer.value;
    return html`${wishesPart({ session, job, at: ["brief", "wishes"], label: say("brief.wish") }, { offers: value ?? [], text, chosen })}
      ${fault ? html`<p class="fault" role="alert">${fault}</p>` : nothing}
      ${peoplePart({ session, job, at: ["brief", "people"], label: say("brief.person") })}
      ${permitsPart({ session, job, at: ["brief", "permits"], label: say("brief.permit") })}`;
  });
  return () => {
    offers.stop();
    stop();
  };
}

interface Tying {
  readonly offers: readonly WishOffer[];
  readonly text: Signal<string>;
  readonly chosen: Signal<Readonly<Record<string, string>>>;
}

function wishesPart(rows: RowsOf, tying: Tying): Template {
  const { text } = tying;
  const add = (event: Event): void => {
    event.preventDefault();
    if (text.value.trim() && addRow(rows, "wish", { text: text.value.trim() }) !== null) text.value = "";
  };
  return html`<h3>${say("brief.wishes")}</h3>
    <p class="quiet">${say("brief.wishesSay")}</p>
    <ul class="wishes">
      ${Object.entries(rows.job.brief?.wishes ?? {}).map(([id, wish]) => html`<li>${wishRow(rows, id, wish, tying)}</li>`)}
    </ul>
    <form class="adding" @submit=${add}>
      <div class="box">
        <label for="wish-new">${say("brief.newWish")}</label>
        <input id="wish-new" data-testid="wish-new" type="text" autocomplete="off" placeholder=${say("brief.newWishSample")} .value=${text.value} @input=${(event: Event) => (text.value = (event.target as HTMLInputElement).value)} />
      </div>
      <button type="submit" data-testid="wish-add">${say("brief.addWish")}</button>
    </form>`;
}

function wishRow(rows: RowsOf, id: string, wish: Wish, { offers, chosen }: Tying): Template {
  const found = findingOf(rows.session, id);
  const tied = offerOf(wish, offers);
  const waiting = offers.find((one) => one.id === chosen.value[id]);
  const offer = waiting ?? tied;
  const isOther = offer === undefined && Boolean(wish.figure ?? wish.becomes);
  const choose = (next: string): void => {
    const wanted = offers.find((one) => one.id === next);
    chosen.value = without(chosen.value, id);
    if (next === OTHER) return;
    if (wanted?.figure) {
      const row = rowsFor(wanted, rows.job)?.[0]?.[0] ?? "";
      // The document holds such a wish only with its number; until there is one the choice waits here.
      if (wanted.value === null || rowsFor(wanted, rows.job)?.length === 0) chosen.value = { ...chosen.value, [id]: next };
      else putRow(rows, id, tiedToFigure(wish, wanted, row, wanted.value));
    } else putRow(rows, id, wanted?.becomes ? tiedToCheck(wish, wanted.becomes) : untied(wish));
  };
  const of = [
    [NOTHING, say("brief.tiedToNothing")],
    ...(isOther ? [[OTHER, wish.figure ?? wish.becomes ?? ""] as const] : []),
    ...offers.map((one) => [one.id, one.says] as const),
  ] as const;
  return html`<div class="wish" data-testid="wish-row-${id}">
    ${longBox({ id: `wish-${id}-text`, label: say("brief.wish"), value: wish.text, rows: 1, set: (text) => text !== "" && fieldSetter(rows, id)("text")(text) })}
    ${choiceBox({ id: `wish-${id}-tie`, label: say("brief.shownBy"), value: offer?.id ?? (isOther ? OTHER : NOTHING), of, set: choose })}
    ${offer?.figure ? boundRow(rows, id, wish, { offer, isWaiting: waiting !== undefined, chosen }) : nothing}
    <div class="ends">${gradeOf(found, wish)} ${removeButton(rows, id, wish.text)}</div>
  </div>`;
}

interface Tied {
  readonly offer: WishOffer;
  /** Whether it was chosen and has no number yet. */
  readonly isWaiting: boolean;
  readonly chosen: Tying["chosen"];
}

/** Which row the wish is about, and the number to keep to. */
function boundRow(rows: RowsOf, id: string, wish: Wish, { offer, isWaiting, chosen }: Tied): Template {
  const among = rowsFor(offer, rows.job);
  if (among?.length === 0) return html`<p class="fault">${say(offer.figure.includes(".bounds.") ? "brief.noLine" : "brief.noThing")}</p>`;
  const held = isWaiting || !wish.figure ? null : rowOf(offer.figure, wish.figure);
  const row = held ?? among?.[0]?.[0] ?? "";
  const value = isWaiting ? null : numberOf(wish, offer);
  const put = (nextRow: string, next: number | null): boolean => {
    if (!putRow(rows, id, tiedToFigure(wish, offer, nextRow, next))) return false;
    chosen.value = next === null ? { ...chosen.value, [id]: offer.id } : without(chosen.value, id);
    return true;
  };
  const known = figureInfo(figureOf(offer, row))?.kind ?? "ratio";
  const kind: Kind = isKind(known) ? known : "ratio";
  return html`<div class="row">
    ${numberBox({
      id: `wish-${id}-number`,
      label: say(offer.bound === "at_most" ? "brief.atMost" : "brief.atLeast"),
      kind,
      value,
      note: isWaiting ? say("brief.needsNumber") : "",
      set: (next) => put(row, next),
    })}
    ${among && among.length > 1 ? choiceBox({ id: `wish-${id}-row`, label: say("brief.which"), value: row, of: among, set: (next) => void put(next, value) }) : nothing}
  </div>`;
}

interface Found {
  readonly finding: Finding;
  readonly key: string;
}

/** What the server found of a wish. */
function findingOf(session: Session, id: string): Found | undefined {
  return numbered(session.checks.value).find(({ finding }) => finding.code === `brief.wish.${id}`);
}

function gradeOf(found: Found | undefined, wish: Wish): Template {
  if (found === undefined) return html`<span class="quiet">${say(wish.figure || wish.becomes ? "brief.notYet" : "brief.inWords")}</span>`;
  const { finding, key } = found;
  return html`<button type="button" class="check" data-code=${finding.code} @click=${() => openNext({ kind: "check", key })}>
    ${gradeMark(finding.grade)}<span class="says">${said(finding.says)}</span>
  </button>`;
}

function peoplePart(rows: RowsOf): Template {
  const row = (id: string, person: Person): Template => {
    const set = fieldSetter(rows, id);
    const name = person.name || say("brief.noName");
    return foldedRow(
      rows,
      id,
      html`${name}${person.role ? html` <span class="quiet">${person.role}</span>` : nothing}`,
      html`${textBox({ id: `person-${id}-name`, label: say("brief.name"), value: person.name ?? "", set: set("name") })}
        ${textBox({ id: `person-${id}-role`, label: say("brief.role"), value: person.role ?? "", set: set("role") })}
        ${textBox({ id: `person-${id}-reach`, label: say("brief.reach"), value: person.reach ?? "", set: set("reach") })} ${removeButton(rows, id, name)}`,
    );
  };
  return html`<h3>${say("brief.people")}</h3>
    ${Object.entries(rows.job.brief?.people ?? {}).map(([id, person]) => row(id, person))}
    <button type="button" data-testid="person-add" @click=${() => addRow(rows, "person", {})}>${say("brief.addPerson")}</button>`;
}

function permitsPart(rows: RowsOf): Template {
  const row = (id: string, permit: Permit): Template => {
    const set = fieldSetter(rows, id);
    const name = permit.need || permit.authority || say("brief.noName");
    const state = permit.granted ? (permit.expires ? say("brief.holdsUntil", { day: day(permit.expires) }) : say("brief.grantedShort")) : say("brief.notGranted");
    return foldedRow(
      rows,
      id,
      html`${name} <span class="quiet">${state}</span>`,
      html`${textBox({ id: `permit-${id}-authority`, label: say("brief.authority"), value: permit.authority, set: set("authority") })}
        ${longBox({ id: `permit-${id}-need`, label: say("brief.need"), value: permit.need, rows: 1, set: set("need") })}
        ${textBox({ id: `permit-${id}-blocks`, label: say("brief.blocks"), value: permit.blocks ?? "", otherwise: say("brief.blocksSample"), set: set("blocks") })}
        <div class="days">
          ${dayBox({ id: `permit-${id}-until`, label: say("brief.until"), value: permit.until ?? null, set: set("until") })}
          ${dayBox({ id: `permit-${id}-expires`, label: say("brief.expires"), value: permit.expires ?? null, set: set("expires") })}
        </div>
        ${textBox({ id: `permit-${id}-number`, label: say("brief.number"), value: permit.number ?? "", set: set("number") })}
        ${tickBox({ id: `permit-${id}-granted`, label: say("brief.granted"), value: permit.granted ?? false, set: (yes) => void set("granted")(yes) })}
        ${removeButton(rows, id, name)}`,
    );
  };
  return html`<h3>${say("brief.permits")}</h3>
    ${Object.entries(rows.job.brief?.permits ?? {}).map(([id, permit]) => row(id, permit))}
    <button type="button" data-testid="permit-add" @click=${() => addRow(rows, "permit", { authority: "", need: "" })}>${say("brief.addPermit")}</button>`;
}

function without(map: Readonly<Record<string, string>>, id: string): Readonly<Record<string, string>> {
  return Object.fromEntries(Object.entries(map).filter(([key]) => key !== id));
}
