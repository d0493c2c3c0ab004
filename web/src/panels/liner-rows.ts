/** What belongs to the liner, to be typed: lengths taped in the hole, pipes through it, patches, guards. */

import { html, nothing } from "lit";
import type { Guard, Over, Patch, Penetration, TapeCheck } from "../api/lining";
import { shown, shownChange } from "../format/shown";
import { say } from "../format/words";
import { FIRST_PATCH, guardKinds, overWords } from "../plan/box-lining";
import { pointsThrough } from "../plan/line-kinds";
import type { OrderTold } from "../plan/lining-fields";
import type { Json } from "../state/ops";
import { jobAddress } from "../state/route";
import { type Tool, tool } from "../state/tool";
import { choiceBox, numberBox, textBox } from "./boxes";
import { showPlaces } from "./liner-order";
import { type Lined, type LinerOf, itemsOf, partChecks } from "./liner-parts";
import { type RowsOf, addRow, fieldSetter, foldedRow, removeButton } from "./rows";
import type { Template } from "./view";
import { which } from "./tables";

type Section = "tapes" | "penetrations" | "patches" | "guards";
type Setter = (field: string) => (value: Json) => boolean;

function rowsAt({ session, job }: Lined, section: Section, label: string): RowsOf {
  return { session, job, at: ["lining", section], label };
}

function drawButton(name: Tool, label: string): Template {
  return html`<button type="button" data-testid="draw-${name}" @click=${() => (tool.value = name)}>${label}</button>`;
}

function nameBox(section: Section, id: string, name: string | undefined, set: Setter): Template {
  return textBox({ id: `${section}-${id}-name`, label: say("soilwork.name"), value: name ?? "", otherwise: id, set: (value) => set("name")(value || null) });
}

function entry(rows: RowsOf, id: string, row: TapeCheck | Penetration | Patch | Guard, told: string, content: unknown): Template {
  const set = fieldSetter(rows, id);
  const section = rows.at[1] as Section;
  return foldedRow(
    rows,
    id,
    html`<b>${row.name || id}</b> <span class="quiet">${told}</span>`,
    html`${nameBox(section, id, row.name, set)} ${content}
      <div class="buttons">
        <button type="button" @click=${() => showPlaces(pointsThrough(row.place))}>${say("soilwork.onPlan")}</button>
        ${removeButton(rows, id, row.name || id)}
      </div>`,
  );
}

/** Whether a row belongs to the liner in hand: it is in its order, or in none. */
function isMine(orders: readonly OrderTold[] | null, liner: LinerOf, has: (order: OrderTold) => boolean): boolean {
  const owners = (orders ?? []).filter(has);
  return owners.length === 0 || owners.some((order) => order.liner === liner.id);
}

// Tapes.

export function tapesPart(lined: Lined, liner: LinerOf, orders: readonly OrderTold[] | null): Template {
  const tapes = Object.entries(lined.job.lining?.tapes ?? {}).filter(([id]) => isMine(orders, liner, (order) => id in order.tapes));
  const rows = rowsAt(lined, "tapes", say("liner.tape"));
  const proposed = (orders ?? []).filter((order) => order.liner === liner.id).flatMap(({ liner, tapes: told }) => Object.entries(told).filter(([, one]) => one.proposed).map(([id, one]) => ({ liner, id, line: one.line })));
  const keep = (id: string, line: readonly (readonly [number, number])[]): void => void addRow(rows, id, { place: { at: "line", points: line.map(([east, north]) => ({ east, north })) } });
  return html`<h3>${say("liner.tapes")}</h3>
    <p class="quiet">${say("liner.tapesSay")}</p>
    ${tapes.length + proposed.length === 0 ? html`<p class="quiet">${say("liner.noTapes")}</p>` : nothing}
    ${tapes.map(([id, row]) => tapeEntry(lined, rows, id, row, orders))}
    ${proposed.length === 0
      ? nothing
      : html`<ul class="told" data-testid="proposed-tapes">
          ${proposed.map(({ liner, id, line }) => {
            const length = shown(lined.figures[`lining.order.liners.${liner}.tapes.${id}.predicted`], "length");
            const name = say(id.endsWith("_across") ? "liner.tapeAcross" : "liner.tapeAlong", { name: lined.job.lining?.liners?.[liner]?.name || lined.job.shape.bodies?.[liner]?.name || liner });
            return html`<li>
              <button type="button" class="plain" @click=${() => showPlaces(line)}>${say("liner.tapeProposed", { name, length })}</button>
              <button type="button" data-testid="keep-${id}" aria-label="${say("liner.tapeKeep")}: ${name}" @click=${() => keep(id, line)}>${say("liner.tapeKeep")}</button>
            </li>`;
          })}
        </ul>`}
    <div class="buttons">${drawButton("tape", say("liner.drawTape"))} <a class="button" href=${jobAddress(lined.session.id, "tables")} data-testid="liner-tables" @click=${() => (which.value = "tapes")}>${say("liner.tables")}</a></div>
    ${partChecks(lined.session, liner, "tapes")}`;
}

function tapeEntry({ figures }: Lined, rows: RowsOf, id: string, row: TapeCheck, orders: readonly OrderTold[] | null): Template {
  const set = fieldSetter(rows, id);
  const order = (orders ?? []).find(({ tapes }) => id in tapes);
  const of = (what: string): number | undefined => (order ? figures[`lining.order.liners.${order.liner}.tapes.${id}.${what}`] : undefined);
  const [predicted, difference] = [of("predicted"), of("difference")];
  const verdict = order?.tapes[id]?.verdict ?? "not_taped";
  const told = [
    predicted === undefined ? "" : say("liner.tapePredicted", { length: shown(predicted, "length") }),
    say(`liner.tape.${verdict}`),
    difference === undefined ? "" : shownChange(difference, "length"),
  ];
  return entry(
    rows,
    id,
    row,
    told.filter(Boolean).join(" · "),
    html`<div class="row">
      ${numberBox({ id: `tapes-${id}-taped`, label: say("liner.taped"), kind: "length", value: row.taped ?? null, otherwise: shown(predicted, "length"), set: set("taped") })}
      ${textBox({ id: `tapes-${id}-by`, label: say("liner.tapedBy"), value: row.note_of ?? "", set: (value) => set("note_of")(value || null) })}
    </div>`,
  );
}

// Pipes.

export function pipesPart(lined: Lined, liner: LinerOf, orders: readonly OrderTold[] | null): Template {
  const pipes = Object.entries(lined.job.lining?.penetrations ?? {}).filter(([id]) => isMine(orders, liner, (order) => order.boots.includes(id)));
  const rows = rowsAt(lined, "penetrations", say("liner.penetration"));
  return html`<h3>${say("liner.pipes")}</h3>
    <p class="quiet">${say("liner.pipesSay")}</p>
    ${pipes.length === 0 ? html`<p class="quiet">${say("liner.noPipes")}</p>` : nothing} ${pipes.map(([id, row]) => pipeEntry(lined, rows, id, row))}
    ${drawButton("penetration", say("liner.putPipe"))} ${partChecks(lined.session, liner, "pipes")}`;
}

function pipeEntry({ job, figures }: Lined, rows: RowsOf, id: string, row: Penetration): Template {
  const set = fieldSetter(rows, id);
  const path = Object.keys(figures).find((one) => one.startsWith("lining.order.liners.") && one.endsWith(`.boots.${id}.collar`));
  const of = (what: string): number | undefined => (path ? figures[path.replace(/collar$/, what)] : undefined);
  const [depth, collar, way] = [of("depth"), of("collar"), of("way_over")];
  const over = row.over ?? "not_asked";
  return entry(
    rows,
    id,
    row,
    `${shown(row.diameter, "length")} · ${say(`liner.over.${over}`)}`,
    html`<div class="row">
        ${numberBox({ id: `penetrations-${id}-diameter`, label: say("liner.pipeDiameter"), kind: "length", value: row.diameter, needed: true, set: set("diameter") })}
        ${choiceBox<Over>({ id: `penetrations-${id}-over`, label: say("liner.over"), value: over, of: overWords(), set: (next) => void set("over")(next) })}
        ${choiceBox({ id: `penetrations-${id}-boot`, label: say("liner.boot"), value: row.boot ?? "", of: itemsOf(job, ["fitting"], row.boot), set: (boot) => void set("boot")(boot || null) })}
      </div>
      ${depth === undefined ? nothing : html`<p class="quiet">${say(depth >= 0 ? "liner.pipeDepth" : "liner.pipeAbove", { depth: shown(Math.abs(depth), "length"), collar: shown(collar, "length") })} ${way === undefined || over === "no" ? nothing : say("liner.wayOver", { length: shown(way, "length") })}</p>`}`,
  );
}

// Patches and guards.

export function patchesPart(lined: Lined): Template {
  const patches = Object.entries(lined.job.lining?.patches ?? {});
  const rows = rowsAt(lined, "patches", say("liner.patch"));
  return html`<h3>${say("liner.patches")}</h3>
    ${patches.length === 0 ? html`<p class="quiet">${say("liner.noPatches")}</p>` : nothing}
    ${patches.map(([id, row]) => {
      const set = fieldSetter(rows, id);
      const size = numberBox({ id: `patches-${id}-size`, label: say("liner.patchSize"), kind: "length", value: row.size ?? null, otherwise: shown(FIRST_PATCH, "length"), set: set("size") });
      return entry(rows, id, row, shown(row.size ?? FIRST_PATCH, "length"), size);
    })}
    ${drawButton("patch", say("liner.putPatch"))}`;
}

export function guardsPart(lined: Lined, liner: LinerOf): Template {
  const guards = Object.entries(lined.job.lining?.guards ?? {});
  const rows = rowsAt(lined, "guards", say("liner.guard"));
  return html`<h3>${say("liner.guards")}</h3>
    ${guards.length === 0 ? html`<p class="quiet">${say("liner.noGuards")}</p>` : nothing}
    ${guards.map(([id, row]) => {
      const set = fieldSetter(rows, id);
      const [length, area] = [lined.figures[`lining.rim.guards.${id}.length`], lined.figures[`lining.rim.guards.${id}.area`]];
      const told = [say(`liner.guard.${row.kind}`), shown(row.depth, "length"), length === undefined ? "" : say("liner.guardSays", { length: shown(length, "length"), area: shown(area, "area") })];
      return entry(
        rows,
        id,
        row,
        told.filter(Boolean).join(" · "),
        html`<div class="row">
          ${choiceBox({ id: `guards-${id}-kind`, label: say("liner.guardAgainst"), value: row.kind, of: guardKinds(), set: (kind) => void set("kind")(kind) })}
          ${numberBox({ id: `guards-${id}-depth`, label: say("liner.guardDepth"), kind: "length", value: row.depth, needed: true, set: set("depth") })}
        </div>`,
      );
    })}
    ${drawButton("guard", say("liner.drawGuard"))} ${partChecks(lined.session, liner, "guards")}`;
}
