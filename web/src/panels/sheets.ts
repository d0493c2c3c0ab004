/** The two tables of a job so far: its shots, and the pegs of one ring. */

import type { Body, Curve, Job, Peg, Shot } from "../api/types";
import { type Word, say } from "../format/words";
import { curveOf, curveOps, nextIds, setOps } from "../state/changes";
import { type Json, type Op, pointer } from "../state/ops";
import type { Column, RowChange, Sheet, SheetRow, Values } from "./sheet";

const SURFACES = ["ground", "muck", "firm", "water", "structure"] as const;
const LEAST_PEGS = 3;

const column = (key: string, holds: Column["holds"], mayBeEmpty = true): Column => ({ key, label: say(`table.${key}` as Word), holds, mayBeEmpty });

/** Shots of the survey. */
export function shotsSheet(job: Job): Sheet {
  const shots = job.site.shots ?? {};
  return {
    columns: [
      column("name", "words"),
      column("east", "length", false),
      column("north", "length", false),
      column("elevation", "elevation"),
      column("code", "words"),
      column("surface", SURFACES.map((surface) => [surface, say(`surface.${surface}`)] as const), false),
      column("sigma", "length"),
    ],
    rows: Object.entries(shots).sort(byNumber).map(([id, shot]) => shotRow(id, shot)),
    ops: (changes, added) => {
      const ids = nextIds("s", shots, added.length);
      return [
        ...changes.flatMap(({ id, values }) => (shots[id] ? shotOps(job, id, shots[id], values) : [])),
        ...added.map((values, at): Op => ({ op: "add", path: pointer("site", "shots", ids[at] as string), value: newShot(values) })),
      ];
    },
    lacks: placeLacks,
    removal: (id) => [{ op: "remove", path: pointer("site", "shots", id) }],
  };
}

function shotRow(id: string, shot: Shot): SheetRow {
  const values: Record<string, Json> = {
    name: shot.name ?? "",
    elevation: shot.elevation ?? null,
    code: shot.code ?? "",
    surface: shot.surface ?? "ground",
    sigma: shot.sigma ?? null,
  };
  if (shot.place.by === "coordinates") {
    return { id, values: { ...values, east: shot.place["east"] as number, north: shot.place["north"] as number }, fixed: {} };
  }
  const words = say(`table.by.${shot.place.by}`);
  return { id, values, fixed: { east: words, north: words } };
}

function shotOps(job: Job, id: string, shot: Shot, values: Values): Op[] {
  const { east, north, ...rest } = values;
  const path = ["site", "shots", id];
  const place = { ...(shot.place as unknown as Record<string, Json>), ...(east === undefined ? {} : { east }), ...(north === undefined ? {} : { north }) };
  const moved: Op[] = east === undefined && north === undefined ? [] : [{ op: "replace", path: pointer(...path, "place"), value: place }];
  return [...moved, ...Object.entries(rest).flatMap(([key, value]) => setOps(job, [...path, key], value))];
}

function newShot(values: Values): Json {
  const { east = 0, north = 0, ...rest } = values;
  const said = Object.entries(rest).filter(([, value]) => value !== null && value !== "");
  return { place: { by: "coordinates", east, north }, ...Object.fromEntries(said) };
}

function placeLacks(values: Values): string {
  return typeof values["east"] === "number" && typeof values["north"] === "number" ? "" : say("table.needsPlace");
}

/** Ids in the order of their numbers: s2 before s10. */
function byNumber([one]: readonly [string, unknown], [other]: readonly [string, unknown]): number {
  return one.localeCompare(other, "en", { numeric: true });
}

/** Pegs of one ring; the whole ring is one operation. */
export function pegsSheet(job: Job, bodyId: string, ring: string): Sheet {
  const body = job.shape.bodies?.[bodyId] as Body;
  const pegs = curveOf(body, ring)?.pegs ?? [];
  const changed = (next: readonly Peg[]): Op[] => curveOps(job, bodyId, ring, { pegs: next } satisfies Curve);
  return {
    columns: [column("east", "length", false), column("north", "length", false), column("corner", "yes or no")],
    rows: pegs.map((peg) => ({
      id: peg.id,
      values: { east: peg.east, north: peg.north, corner: peg.corner ?? false },
      fixed: {},
    })),
    ops: (changes, added) => changed([...pegs.map((peg) => movedPeg(peg, changes)), ...newPegs(pegs, added)]),
    lacks: placeLacks,
    removal: (id) => (pegs.length <= LEAST_PEGS ? say("table.atLeastPegs") : changed(pegs.filter((peg) => peg.id !== id))),
  };
}

function movedPeg(peg: Peg, changes: readonly RowChange[]): Peg {
  return changes.filter(({ id }) => id === peg.id).reduce<Peg>((now, { values }) => ({ ...now, ...(values as unknown as Partial<Peg>) }), peg);
}

function newPegs(pegs: readonly Peg[], added: readonly Values[]): Peg[] {
  const ids = nextIds("p", Object.fromEntries(pegs.map((peg) => [peg.id, true])), added.length);
  return added.map((values, at) => ({
    id: ids[at] as string,
    east: values["east"] as number,
    north: values["north"] as number,
    corner: values["corner"] === true,
  }));
}
