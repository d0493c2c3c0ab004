/** The groundwater as tables: readings, drains, outlets, sumps, and pipe on hand. */

import type { Job } from "../api/types";
import type { Drain } from "../api/water";
import { type Word, say } from "../format/words";
import { READING_KINDS, endsOf } from "../plan/box-water";
import { setOps } from "../state/changes";
import { type Json, type Op, pointer, valueAtPath } from "../state/ops";
import type { Column, RowChange, Sheet, SheetRow, Values } from "./sheet";

export const WATER_TABLES = ["readings", "drains", "outlets", "sumps", "pipes"] as const;
export type WaterTable = (typeof WATER_TABLES)[number];

type AnyRow = Readonly<Record<string, Json | undefined>>;

/** How the rows of one map of the job are typed as a table. */
export interface Made {
  readonly columns: readonly Column[];
  /** Fields that a new row must have. */
  readonly needs: readonly string[];
  readonly lacks: Word;
  /** Fields of a new row that nobody types. */
  readonly more?: (values: Values) => Values;
}

export const column = (key: string, word: Word, holds: Column["holds"], mayBeEmpty = true): Column => ({ key, label: say(word), holds, mayBeEmpty });
export const NAME = (): Column => column("name", "table.name", "words");
export const PLACE = (): readonly Column[] => [column("east", "table.east", "length", false), column("north", "table.north", "length", false)];

export function waterSheet(job: Job, table: WaterTable): Sheet {
  return table === "drains" ? drainsSheet(job) : rowsSheet(job, ["groundwater", table], table.slice(0, -1), MADE[table](), (id) => removalOf(job, table, id));
}

const MADE: Readonly<Record<Exclude<WaterTable, "drains">, () => Made>> = {
  readings: () => ({
    columns: [
      NAME(),
      column("kind", "groundwater.table.kind", READING_KINDS.map((kind) => [kind, say(`groundwater.reading.${kind}`)] as const), false),
      ...PLACE(),
      column("wet", "groundwater.wetLevel", "elevation"),
      column("dry", "groundwater.dryLevel", "elevation"),
      column("wet_flow", "groundwater.wetFlow", "flow"),
      column("dry_flow", "groundwater.dryFlow", "flow"),
      column("sigma", "table.sigma", "length"),
    ],
    needs: ["kind", "east", "north"],
    lacks: "groundwater.table.needsKind",
    more: () => ({ status: "existing" }),
  }),
  outlets: () => ({
    columns: [NAME(), ...PLACE(), column("invert", "groundwater.invert", "elevation", false), column("flood", "groundwater.flood", "elevation")],
    needs: ["east", "north", "invert"],
    lacks: "groundwater.table.needsInvert",
  }),
  sumps: () => ({
    columns: [
      NAME(),
      ...PLACE(),
      column("on", "groundwater.sump.on", "elevation", false),
      column("off", "groundwater.sump.off", "elevation", false),
      column("pump", "groundwater.sump.pump", "flow", false),
      column("standby", "groundwater.sump.standby", "yes or no"),
      column("backup", "groundwater.sump.backup", "time"),
    ],
    needs: ["east", "north", "on", "off", "pump"],
    lacks: "groundwater.table.needsSump",
  }),
  pipes: () => ({
    columns: [NAME(), column("length", "groundwater.table.length", "length", false), column("diameter", "groundwater.diameter", "length", false), column("slotted", "groundwater.table.slotted", "yes or no")],
    needs: ["length", "diameter"],
    lacks: "groundwater.table.needsPipe",
  }),
};

/** Rows at a point, or without a place. */
export function rowsSheet(job: Job, at: readonly [section: string, table: string], stem: string, { columns, needs, lacks, more }: Made, removal?: Sheet["removal"]): Sheet {
  const rows = (valueAtPath(job as unknown as Json, pointer(...at)) ?? {}) as unknown as Readonly<Record<string, AnyRow>>;
  return {
    columns,
    rows: Object.entries(rows).map(([id, row]) => rowOf(id, row, columns)),
    ops: (changes, added) => [...changes.flatMap((change) => changeOps(job, at, rows, change)), ...addedOps(at, stem, rows, added, more)],
    lacks: (values) => (needs.every((key) => values[key] !== undefined && values[key] !== null && values[key] !== "") ? "" : say(lacks)),
    removal: removal ?? ((id) => [{ op: "remove", path: pointer(...at, id) }]),
  };
}

function rowOf(id: string, row: AnyRow, columns: readonly Column[]): SheetRow {
  const place = row["place"] as unknown as Readonly<Record<string, Json>> | undefined;
  const fixed = place !== undefined && place["at"] !== "point" ? { east: say("groundwater.table.onPlan"), north: say("groundwater.table.onPlan") } : {};
  const values = columns.map(({ key }): [string, Json] => [key, (key === "east" || key === "north" ? (place?.[key] ?? null) : key === "slotted" ? (row[key] ?? true) : (row[key] ?? null)) as Json]);
  return { id, values: Object.fromEntries(values), fixed: fixed as Readonly<Record<string, string>> };
}

function changeOps(job: Job, at: readonly string[], rows: Readonly<Record<string, AnyRow>>, { id, values }: RowChange): Op[] {
  const { east, north, ...rest } = values;
  const place = rows[id]?.["place"] as unknown as Readonly<Record<string, Json>> | undefined;
  const moved: Op[] =
    place === undefined || (east === undefined && north === undefined)
      ? []
      : [{ op: "replace", path: pointer(...at, id, "place"), value: { ...place, ...(east === undefined ? {} : { east }), ...(north === undefined ? {} : { north }) } }];
  return [...moved, ...Object.entries(rest).flatMap(([key, value]) => setOps(job, [...at, id, key], value))];
}

function addedOps(at: readonly string[], stem: string, rows: Readonly<Record<string, unknown>>, added: readonly Values[], more: Made["more"]): Op[] {
  const taken = new Set(Object.keys(rows));
  return added.map((values): Op => {
    const { east, north, ...rest } = values;
    let number = 1;
    while (taken.has(`${stem}_${number}`)) number += 1;
    const id = `${stem}_${number}`;
    taken.add(id);
    const told = Object.entries(rest).filter(([, value]) => value !== null && value !== "");
    const place: Values = east === undefined || north === undefined ? {} : { place: { at: "point", east, north } };
    return { op: "add", path: pointer(...at, id), value: { ...place, ...Object.fromEntries(told), ...more?.(values) } };
  });
}

/** What drains run into stays as long as they do. */
function removalOf(job: Job, table: WaterTable, id: string): Op[] | string {
  const user = Object.entries(job.groundwater?.drains ?? {}).find(([, drain]) => drain.into === id);
  if (user && table !== "readings" && table !== "pipes") return say("groundwater.table.runsInto", { name: user[1].name || user[0] });
  return [{ op: "remove", path: pointer("groundwater", table, id) }];
}

function drainsSheet(job: Job): Sheet {
  const drains = job.groundwater?.drains ?? {};
  const ends = endsOf(job, "");
  return {
    columns: [
      NAME(),
      column("into", "groundwater.into", ends),
      column("diameter", "groundwater.diameter", "length"),
      column("fall", "groundwater.fallWanted", "ratio"),
      column("upper", "groundwater.invertUpper", "elevation"),
      column("lower", "groundwater.invertLower", "elevation"),
      column("slotted", "groundwater.table.slotted", "yes or no"),
      column("working", "groundwater.table.working", "yes or no"),
    ],
    rows: Object.entries(drains).map(([id, row]): SheetRow => {
      const inverts = row.inverts ?? [];
      const even = inverts.length === 0 ? { upper: say("groundwater.table.even"), lower: say("groundwater.table.even") } : { fall: say("groundwater.table.byBottoms") };
      const values = { name: row.name ?? "", into: row.into ?? "", diameter: row.diameter ?? 0.1016, fall: row.fall ?? null, upper: inverts[0] ?? null, lower: inverts.at(-1) ?? null, slotted: row.slotted ?? true, working: row.working ?? true };
      return { id, values, fixed: even as Readonly<Record<string, string>> };
    }),
    ops: (changes) => changes.flatMap(({ id, values }) => (drains[id] ? drainOps(job, id, drains[id], values) : [])),
    lacks: () => say("groundwater.table.drawDrain"),
    removal: (id) => removalOf(job, "drains", id),
  };
}

/** A drain's ends are the first and the last of its bottoms. */
function drainOps(job: Job, id: string, { inverts = [] }: Drain, values: Values): Op[] {
  const { upper, lower, into, ...rest } = values;
  const changed = inverts.map((invert, at) => (at === 0 && typeof upper === "number" ? upper : at === inverts.length - 1 && typeof lower === "number" ? lower : invert));
  const bottoms: Op[] = changed.some((invert, at) => invert !== inverts[at]) ? [{ op: "replace", path: pointer("groundwater", "drains", id, "inverts"), value: changed }] : [];
  const end = into === undefined ? [] : setOps(job, ["groundwater", "drains", id, "into"], into || null);
  return [...bottoms, ...end, ...Object.entries(rest).flatMap(([key, value]) => setOps(job, ["groundwater", "drains", id, key], value))];
}
