/** Stones that were taped, as a table: typed row by row, or pasted from a list that somebody else has kept. */

import type { Piece } from "../api/stone";
import type { Job } from "../api/types";
import { type Word, say } from "../format/words";
import { newId, setOps } from "../state/changes";
import { type Json, type Op, pointer } from "../state/ops";
import type { Column, RowChange, Sheet, SheetRow, Values } from "./sheet";
import { idFrom } from "./stone-cover";
import { ROLES, SHAPES, STANDS } from "./stone-parts";

const SIDES = ["length", "width", "height"] as const;

const column = (key: string, word: Word, holds: Column["holds"], mayBeEmpty = true): Column => ({ key, label: say(word), holds, mayBeEmpty });

export function piecesSheet(job: Job): Sheet {
  const pieces = job.stone?.pieces ?? {};
  return {
    columns: [
      column("tag", "stone.tag", "words"),
      ...SIDES.map((side): Column => ({ ...column(side, `stone.${side}`, "length", false), trade: "side of a stone" })),
      column("mass", "stone.ticket", "mass"),
      column("shape", "stone.shape", SHAPES.map((one) => [one, say(`stone.shape.${one}`)] as const)),
      column("role", "stone.role", ROLES.map((one) => [one, say(`stone.role.${one}`)] as const)),
      column("stands", "stone.stands", STANDS.map((one) => [one, say(`stone.stands.${one}`)] as const)),
      column("truck", "stone.truck", "words"),
      column("east", "table.east", "length"),
      column("north", "table.north", "length"),
    ],
    rows: Object.entries(pieces).map(([id, row]): SheetRow => ({ id, values: valuesOf(row), fixed: {} })),
    ops: (changes, added) => [...changes.flatMap((change) => changeOps(job, change)), ...addedOps(pieces, added)],
    lacks: (values) => (SIDES.every((side) => typeof values[side] === "number") ? "" : say("stone.table.lacks")),
    removal: (id) => [{ op: "remove", path: pointer("stone", "pieces", id) }],
  };
}

function valuesOf(row: Piece): Values {
  const { tag = "", length, width, height, mass = null, shape = "blocky", role = "any", stands = "on_hand", truck = "", place } = row;
  return { tag, length, width, height, mass, shape, role, stands, truck, east: place?.east ?? null, north: place?.north ?? null };
}

/** Both east and north make a place; one of them alone changes only a place that is there. */
function placeOf(values: Values, before: Piece["place"]): Json | undefined {
  const { east = before?.east ?? null, north = before?.north ?? null } = values;
  if (values["east"] === undefined && values["north"] === undefined) return undefined;
  return typeof east === "number" && typeof north === "number" ? { at: "point", east, north } : null;
}

function changeOps(job: Job, { id, values }: RowChange): Op[] {
  const { east: _east, north: _north, ...rest } = values;
  const place = placeOf(values, job.stone?.pieces?.[id]?.place);
  return [...Object.entries(rest).flatMap(([key, value]) => setOps(job, ["stone", "pieces", id, key], value)), ...(place === undefined ? [] : setOps(job, ["stone", "pieces", id, "place"], place))];
}

function addedOps(pieces: Readonly<Record<string, unknown>>, added: readonly Values[]): Op[] {
  const taken: Record<string, unknown> = { ...pieces };
  return added.map((values): Op => {
    const { east: _east, north: _north, ...rest } = values;
    const id = newId(idFrom(String(values["tag"] ?? "")) || "stone_1", taken);
    taken[id] = true;
    const told = Object.entries(rest).filter(([, value]) => value !== null && value !== "");
    const place = placeOf(values, null);
    return { op: "add", path: pointer("stone", "pieces", id), value: { ...Object.fromEntries(told), ...(place ? { place } : {}) } };
  });
}
