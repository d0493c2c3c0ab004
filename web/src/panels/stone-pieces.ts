/** Stones one by one: what was taped, the place dealt to each or that it is left over, and the machine that sets it. */

import { html, nothing } from "lit";
import type { Piece } from "../api/stone";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { type Setting, type Yard, type YardPlace, settingTold, yardTold } from "../plan/stone-fields";
import { stonePoint } from "../plan/stones";
import { newestTold } from "../plan/water-fields";
import { attempt, setOps } from "../state/changes";
import { openNext } from "../state/desk";
import type { Op } from "../state/ops";
import { pickPlace } from "../state/pick";
import { jobAddress } from "../state/route";
import { choiceBox, numberBox, textBox } from "./boxes";
import { figureLine } from "./figures";
import { type RowsOf, fieldSetter, foldedRow, removeButton } from "./rows";
import { rowsOf, shapeBox } from "./stone-cover";
import { ROLES, STANDS, type Stoned, rangeWords, sizeWords, stonePlaceName, tagOf } from "./stone-parts";
import { showPoint } from "./stone-rows";
import { which } from "./tables";
import type { Template } from "./view";

const readYard = newestTold(yardTold);
const readSetting = newestTold(settingTold);

/** What is dealt and what sets it, as the newest frame that told has it. */
export function dealtNow({ session }: Pick<Stoned, "session">): { readonly yard: Yard | null; readonly setting: Setting | null } {
  const frame = session.frame.value;
  return { yard: readYard(frame), setting: readSetting(frame) };
}

/** Place that is dealt to a stone, in words; of one left over the reason. */
export function dealtPlace(job: Job, yard: Yard, id: string): string {
  const told = yard.stones.get(id);
  const place = yard.places.find((one) => one.id === told?.place);
  return place ? stonePlaceName(job, place) : (told?.says ?? "");
}

/** Stones that were dealt a place before and have another one now; one left over has none. */
export function movedStones(before: ReadonlyMap<string, string>, { stones }: Pick<Yard, "stones">): string[] {
  return [...before].flatMap(([id, place]) => {
    const now = stones.get(id);
    return now !== undefined && now.place !== place ? [id] : [];
  });
}

/** Where a stone goes, in words. */
export function dealtWords(job: Job, yard: Yard | null, id: string, row: Piece): string {
  if (row.place) return say("stone.placed");
  const told = yard?.stones.get(id);
  if (!yard || !told) return say("stone.notDealt");
  const words = dealtPlace(job, yard, id);
  return told.order > 0 ? `${words}, ${say("stone.order", { number: told.order })}` : words;
}

export function isLeftOver(yard: Yard | null, id: string, row: Piece): boolean {
  return !row.place && yard?.stones.get(id)?.place === "";
}

export function piecesPart(stone: Stoned): Template {
  const rows = rowsOf(stone, "pieces", "stone.piece");
  const all = Object.entries(stone.job.stone?.pieces ?? {});
  const { yard } = dealtNow(stone);
  const left = all.filter(([id, row]) => isLeftOver(yard, id, row));
  return html`<h3>${say("stone.yard")}</h3>
    <p class="quiet">${say("stone.yardSay")}</p>
    <p class="buttons"><button type="button" class="primary" data-testid="open-yard" @click=${() => openNext({ kind: "yard" })}>${say("stone.nextStone")}</button>
      <a class="button" href=${jobAddress(stone.session.id, "tables")} data-testid="stones-table" @click=${() => (which.value = "stones")}>${say("stone.asTable")}</a></p>
    ${all.length === 0
      ? html`<p class="quiet">${say("stone.noPiece")}</p>`
      : html`<p data-testid="yard-counts">${say("stone.counts", { count: all.length, placed: all.length - left.length, left: left.length })}</p>`}
    ${keepPart(stone, yard)} ${byTruck(all).map(
      ([truck, own]) => html`${truck ? html`<h4 class=${isOverloaded(yard, truck) ? "left-over" : ""}>${truckWords(yard, truck)}</h4>` : nothing} ${own.map(([id, row]) => pieceEntry(stone, rows, id, row))}`,
    )}
    ${wantedPart(stone, yard)}`;
}

/** Stones in the order of their trucks; those of no truck come first. */
function byTruck(all: readonly (readonly [string, Piece])[]): (readonly [string, (readonly [string, Piece])[]])[] {
  const trucks = new Map<string, (readonly [string, Piece])[]>();
  for (const one of all) trucks.set(one[1].truck ?? "", [...(trucks.get(one[1].truck ?? "") ?? []), one]);
  return [...trucks.entries()].sort(([one], [other]) => one.localeCompare(other, undefined, { numeric: true }));
}

export function isOverloaded(yard: Yard | null, truck: string): boolean {
  const told = yard?.trucks.get(truck);
  return told !== undefined && told.mass > told.payload;
}

/** What lies on a truck, and what it may carry. */
export function truckWords(yard: Yard | null, truck: string): string {
  const told = yard?.trucks.get(truck);
  const name = say("stone.byTruck", { truck });
  return told ? say("stone.truckCarries", { name, mass: shown(told.mass, "bulk mass"), payload: shown(told.payload, "bulk mass") }) : name;
}

/** Places as they are dealt may be kept, so that a later stone does not take them. */
function keepPart({ session }: Stoned, yard: Yard | null): Template {
  if (!yard || yard.keep.length === 0) return nothing;
  const keep = (ops: readonly Op[]) => (): void => void attempt(session, say("stone.keepDealt"), ops);
  return html`<p><button type="button" data-testid="keep-dealt" @click=${keep(yard.keep)}>${say("stone.keepDealt")}</button></p>`;
}

function pieceEntry(stone: Stoned, rows: RowsOf, id: string, row: Piece): Template {
  const { session, job, figures } = stone;
  const { yard, setting } = dealtNow(stone);
  const set = fieldSetter(rows, id);
  const tag = tagOf(id, row);
  const isLeft = isLeftOver(yard, id, row);
  const mass = row.mass ?? figures[`stone.yard.stones.${id}.mass`];
  const falls = Object.entries(job.stone?.falls ?? {}).map(([key, one]): readonly [string, string] => [key, one.name || key]);
  const sides = ["length", "width", "height"] as const;
  return foldedRow(
    rows,
    id,
    html`<b>${tag}</b> <span class="quiet">${sizeWords(row)}${mass === undefined ? "" : ` · ${shown(mass, "mass")}`}</span>
      <span class=${isLeft ? "left-over" : "dealt"} data-testid="dealt-${id}">${dealtWords(job, yard, id, row)}</span>`,
    html`${setByPart(stone, setting, id)}
      <div class="row">
        ${textBox({ id: `pieces-${id}-tag`, label: say("stone.tag"), value: row.tag ?? "", otherwise: id, set: set("tag") })}
        ${textBox({ id: `pieces-${id}-truck`, label: say("stone.truck"), value: row.truck ?? "", otherwise: say("stone.noTruck"), set: set("truck") })}
      </div>
      <div class="row">${sides.map((side) => numberBox({ id: `pieces-${id}-${side}`, label: say(`stone.${side}`), kind: "length", trade: "side of a stone", value: row[side], needed: true, set: set(side) }))}</div>
      ${shapeBox(`pieces-${id}-shape`, row.shape, (shape) => void set("shape")(shape))}
      ${choiceBox({ id: `pieces-${id}-role`, label: say("stone.role"), value: row.role ?? "any", of: ROLES.map((role) => [role, say(`stone.role.${role}`)] as const), set: (role) => void set("role")(role) })}
      ${falls.length > 0 ? choiceBox({ id: `pieces-${id}-fall`, label: say("stone.fall"), value: row.fall ?? "", of: [["", say("stone.fallNone")], ...falls], set: (fall) => void set("fall")(fall || null) }) : nothing}
      ${choiceBox({ id: `pieces-${id}-stands`, label: say("stone.stands"), value: row.stands ?? "on_hand", of: STANDS.map((one) => [one, say(`stone.stands.${one}`)] as const), set: (one) => void set("stands")(one) })}
      <div class="row">
        ${numberBox({ id: `pieces-${id}-mass`, label: say("stone.ticket"), kind: "mass", value: row.mass ?? null, otherwise: say("stone.bySize"), set: set("mass") })}
        ${row.place ? numberBox({ id: `pieces-${id}-turn`, label: say("stone.turn"), kind: "angle", value: row.turn ?? null, otherwise: say("stone.alongShore"), set: set("turn") }) : nothing}
      </div>
      <dl class="lines">${["mass", "misfit"].map((figure) => figureLine(session, `stone.yard.stones.${id}.${figure}`))}</dl>
      <div class="ends">${placeButtons(stone, yard, id, row)} ${removeButton(rows, id, tag)}</div>`,
  );
}

/** Put a stone at a place with a direction, where it is dealt, or free its place again. */
function placeButtons({ session, job }: Stoned, yard: Yard | null, id: string, row: Piece): Template {
  const at = stonePoint(row);
  const dealt = yard?.stones.get(id)?.point ?? null;
  const label = say("rows.change", { what: say("stone.piece") });
  const set = (east: number, north: number, turn: number | null): void =>
    void attempt(session, label, [...setOps(job, ["stone", "pieces", id, "place"], { at: "point", east, north }), ...setOps(job, ["stone", "pieces", id, "turn"], turn)]);
  const put = (): void =>
    pickPlace({ title: say("stone.stoneCalled", { tag: tagOf(id, row) }), looks: true, before: (at ?? dealt) && { place: (at ?? dealt) as readonly [number, number], bearing: row.turn ?? null }, take: ({ place: [east, north], bearing }) => set(east, north, bearing) });
  const free = (): void => void attempt(session, label, setOps(job, ["stone", "pieces", id, "place"], null));
  return html`${!row.place && dealt ? html`<button type="button" data-testid="set-${id}" @click=${() => set(dealt[0], dealt[1], null)}>${say("stone.setThere")}</button>` : nothing}
    <button type="button" data-testid="put-${id}" @click=${put}>${say("stone.putStone")}</button>
    ${row.place ? html`<button type="button" @click=${free}>${say("stone.freePlace")}</button>` : nothing} ${(at ?? dealt) ? showPoint((at ?? dealt) as readonly [number, number]) : nothing}`;
}

function setByPart({ job }: Stoned, setting: Setting | null, id: string): Template {
  const told = setting?.stones.get(id);
  if (!told) return nothing;
  const name = job.stone?.lifters?.[told.lifter]?.name || told.lifter;
  const can = told.verdict === "set" && told.lifter !== "";
  const words = can
    ? say("stone.setFrom", { name, reach: shown(told.radius, "length"), mass: shown(told.mass, "mass"), capacity: shown(told.capacity, "mass") })
    : told.verdict === "nearer" && told.reach !== null
      ? say("stone.setNearer", { reach: shown(told.reach, "length") })
      : told.needs
        ? say("stone.setBigger", { needs: told.needs })
        : say("stone.noMachine");
  return html`<p class=${can ? "" : "left-over"} data-testid="set-by-${id}">${words}</p>`;
}

/** Places of the same words and sizes as one, with what they want and have together. */
export function placesAlike(places: readonly YardPlace[]): YardPlace[] {
  const alike = new Map<string, YardPlace>();
  for (const place of places) {
    const key = `${place.says} ${place.low} ${place.high}`;
    const one = alike.get(key);
    alike.set(key, one ? { ...one, needed: one.needed + place.needed, dealt: one.dealt + place.dealt, missing: one.missing + place.missing } : place);
  }
  return [...alike.values()];
}

/** Places that still want a stone. */
function wantedPart({ job }: Stoned, yard: Yard | null): Template {
  const wanted = placesAlike((yard?.places ?? []).map((place) => ({ ...place, says: stonePlaceName(job, place) }))).filter(({ needed }) => needed > 0);
  if (wanted.length === 0) return nothing;
  return html`<div class="wide" tabindex="0" role="group" aria-label=${say("stone.places")}>
    <table class="plain soil-account long-names" data-testid="stone-places">
      <caption>${say("stone.places")}</caption>
      <thead>
        <tr>${(["place", "size", "needed", "dealt", "missing"] as const).map((column) => html`<th scope="col">${say(`stone.placeColumn.${column}`)}</th>`)}</tr>
      </thead>
      <tbody>
        ${wanted.map(
          (place) => html`<tr>
            <th scope="row">${place.says}</th>
            <td>${rangeWords(place)}</td>
            <td>${shown(place.needed, "count")}</td>
            <td>${shown(place.dealt, "count")}</td>
            <td>${place.missing > 0 ? html`<b>${shown(place.missing, "count")}</b>` : "–"}</td>
          </tr>`,
        )}
      </tbody>
    </table>
  </div>`;
}
