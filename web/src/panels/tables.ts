/** Tables: shots, pegs, the groundwater what belongs to the liner and taped stones as rows, for whoever would rather type than drag. */

import { html, nothing } from "lit";
import { say } from "../format/words";
import { OUTER } from "../state/changes";
import type { Session } from "../state/session";
import { type Signal, computed, effect, signal } from "../state/signal";
import { choiceBox, wordSwitch } from "./boxes";
import { mountBook } from "./book";
import { bodyShown } from "./figures";
import { mountGrid } from "./grid";
import { LINER_TABLES, type LinerTable, isLinerTable, kindOfRows, linerSheet } from "./liner-sheets";
import { pegsSheet, shotsSheet } from "./sheets";
import { piecesSheet } from "./stone-sheets";
import { WATER_TABLES, type WaterTable, waterSheet } from "./water-sheets";
import { type Dispose, mountView } from "./view";

type Which = "shots" | "book" | "pegs" | "stones" | WaterTable | LinerTable;

const IN_GROUND: ReadonlySet<Which> = new Set(WATER_TABLES);

interface Ring {
  readonly body: string;
  readonly ring: string;
}

/** Which table is open; it outlives the screen, and a page of the site may choose it. */
export const which: Signal<Which> = signal<Which>("shots");

export function mountTables(host: HTMLElement, session: Session): Dispose {
  const wanted = signal<string>("");
  const rings = computed(() => ringsOf(session));
  const ring = (): Ring | null => rings.value.find((one) => keyOf(one) === wanted.value) ?? rings.value[0] ?? null;

  host.innerHTML = `<div class="page tables"><div data-part="head"></div><div data-part="grid"></div></div>`;
  const head = host.querySelector<HTMLElement>('[data-part="head"]') as HTMLElement;
  const place = host.querySelector<HTMLElement>('[data-part="grid"]') as HTMLElement;

  const stopHead = mountView(
    head,
    () => html`<h1>${say("table.title")}</h1>
      <div class="row">
        ${wordSwitch<Which>({ id: "table-which", label: say("table.which"), value: which.value, of: [["shots", say("table.shots")], ["book", say("table.book")], ["pegs", say("table.pegs")], ...WATER_TABLES.map((one) => [one, say(`groundwater.table.${one}`)] as const), ...LINER_TABLES.map((one) => [one, say(`liner.table.${one}`)] as const), ["stones", say("table.stones")]], set: (value) => (which.value = value) })}
        ${which.value === "pegs" && rings.value.length > 1
          ? choiceBox({ id: "table-ring", label: say("table.ring"), value: keyOf(ring() as Ring), of: rings.value.map((one) => [keyOf(one), wordsOf(session, one)] as const), set: (value) => (wanted.value = value) })
          : nothing}
      </div>
      ${which.value === "pegs" && rings.value.length === 0 ? html`<p>${say("table.noPegs")}</p>` : nothing}`,
  );
  let stopGrid: Dispose = () => {};
  const stopSwitch = effect(() => {
    const now = which.value;
    stopGrid();
    if (now === "book") {
      stopGrid = mountBook(place, session);
      return;
    }
    stopGrid = mountGrid(place, session, {
      name: isInGround(now) ? say(`groundwater.table.${now}`) : isLinerTable(now) ? say(`liner.table.${now}`) : say(`table.${now}`),
      sheet: () => {
        const job = session.shown.value;
        const one = ring();
        if (job === null) return null;
        if (isInGround(now)) return waterSheet(job, now);
        if (now === "stones") return piecesSheet(job);
        if (isLinerTable(now)) return linerSheet(job, now);
        if (now === "shots") return shotsSheet(job);
        return one === null ? null : pegsSheet(job, one.body, one.ring);
      },
      chosen: (id) => {
        const one = ring();
        if (isInGround(now)) {
          const kind = KINDS[now];
          if (kind !== null) session.selection.value = { kind, id };
          return;
        }
        if (now === "stones") return void (session.selection.value = { kind: "stone", id });
        if (isLinerTable(now)) return void (session.selection.value = { kind: kindOfRows(now), id });
        session.selection.value = now === "shots" ? { kind: "shot", id } : one && { kind: "peg", id, body: one.body, ring: one.ring };
      },
    });
  });
  return () => {
    stopSwitch();
    stopGrid();
    stopHead();
    host.replaceChildren();
  };
}

/** What a row of a table is when it is chosen on the plan; pipe on hand lies nowhere on it. */
const KINDS = { readings: "reading", drains: "drain", outlets: "outlet", sumps: "sump", pipes: null } as const;

function isInGround(table: Which): table is WaterTable {
  return IN_GROUND.has(table);
}

function ringsOf(session: Session): readonly Ring[] {
  const bodies = session.shown.value?.shape.bodies ?? {};
  const shown = bodyShown(session);
  const order = Object.keys(bodies).sort((one, other) => Number(other === shown) - Number(one === shown));
  return order.flatMap((body) => [OUTER, ...Object.keys(bodies[body]?.islands ?? {})].map((ring) => ({ body, ring })));
}

function keyOf({ body, ring }: Ring): string {
  return `${body}/${ring}`;
}

function wordsOf(session: Session, { body, ring }: Ring): string {
  const name = session.shown.value?.shape.bodies?.[body]?.name || body;
  return `${name} › ${ring === OUTER ? say("shape.outer") : ring}`;
}
