/** What the server tells of the stone, read from a frame. Pure; null where a frame does not tell. */

import type { Field, Frame } from "../api/frame";
import { rowsOf } from "../charts/fields";
import type { SitePoint } from "../geometry/types";
import type { Op } from "../state/ops";

/** A class of the takeoff: of the job, or one that the model took where nobody told. */
export interface StoneClassTold {
  readonly id: string;
  readonly low: number;
  readonly high: number;
  /** Mass of one stone on average [kg]. */
  readonly mass: number;
  readonly told: boolean;
}

/** A course of stones along the shore, in short pieces. */
export interface StoneRun {
  readonly body: string;
  /** Cover that told of it; empty where the model took it. */
  readonly row: string;
  readonly course: number;
  readonly height: number;
  /** Ground on which it stands, and how many lie on one another. */
  readonly foot: number;
  readonly rows: number;
  readonly hidden: boolean;
  readonly places: readonly RunPlace[];
}

export interface RunPlace {
  readonly point: SitePoint;
  /** Which way the bank falls: a unit vector inward. */
  readonly face: SitePoint;
  readonly length: number;
}

/** Ground that a cover lies on: rings with even and odd insides. */
export interface StoneArea {
  readonly row: string;
  readonly kind: string;
  readonly rings: readonly (readonly SitePoint[])[];
}

function named(frame: Frame | null, name: string): readonly Field[] | null {
  if (frame?.fields[`all_${name}`] === undefined) return null;
  return frame.every.filter(({ head }) => head.name === name);
}

export function classesTold(frame: Frame | null): StoneClassTold[] | null {
  const field = frame?.fields["stone_classes"];
  if (!field) return null;
  return rowsOf(field).map(([low = 0, high = 0, mass = 0, told = 0], at) => ({ id: field.head.ids?.[at] ?? "", low, high, mass, told: told > 0.5 }));
}

export function runsTold(frame: Frame | null): StoneRun[] | null {
  const fields = named(frame, "stone_runs");
  return (
    fields &&
    fields.map((field): StoneRun => {
      const { body = "", row = "", course = 1, tall = 0, foot = 0, rows = 1, hidden = false } = field.head;
      const places = rowsOf(field).map(([east = 0, north = 0, faceEast = 0, faceNorth = 0, length = 0]): RunPlace => ({ point: [east, north], face: [faceEast, faceNorth], length }));
      return { body, row, course, height: tall, foot, rows, hidden, places };
    })
  );
}

export function areasTold(frame: Frame | null): StoneArea[] | null {
  const points = frame?.fields["stone_areas_points"];
  const starts = frame?.fields["stone_areas_starts"];
  if (!points || !starts) return null;
  const { ids = [], says = [] } = starts.head;
  const rows = rowsOf(points).map(([east = 0, north = 0]): SitePoint => [east, north]);
  const areas = new Map<string, { row: string; kind: string; rings: SitePoint[][] }>();
  ids.forEach((row, at) => {
    const ring = rows.slice(starts.data[at], starts.data[at + 1]);
    const area = areas.get(row) ?? { row, kind: says[at] ?? "", rings: [] };
    area.rings.push(ring);
    areas.set(row, area);
  });
  return [...areas.values()];
}

// Stones that were taped.

export interface YardStone {
  readonly id: string;
  /** Key of the place dealt to it; `own` for one with a place on the plan, empty for one left over. */
  readonly place: string;
  readonly says: string;
  readonly point: SitePoint | null;
  /** In which order it is set; 0 for one left over. */
  readonly order: number;
  readonly mass: number;
  /** Whether it kept the place that was reserved for it. */
  readonly kept: boolean;
}

/** A place that wants stones: what the server calls it, the row of the document that wants them, their class. */
export interface StonePlaceTold {
  readonly id: string;
  readonly says: string;
  readonly source: string;
  readonly stone: string;
}

export interface YardPlace extends StonePlaceTold {
  readonly role: string;
  readonly low: number;
  readonly high: number;
  readonly needed: number;
  readonly dealt: number;
  readonly missing: number;
}

export interface TruckOfYard {
  readonly mass: number;
  /** What it may carry. */
  readonly payload: number;
}

export interface Yard {
  readonly trucks: ReadonlyMap<string, TruckOfYard>;
  readonly stones: ReadonlyMap<string, YardStone>;
  readonly places: readonly YardPlace[];
  /** Edit that reserves each place as it is dealt; empty when nothing changes. */
  readonly keep: readonly Op[];
}

function placeOf({ head: { ids = [], says = [], sources = [], classes = [] } }: Field, at: number): StonePlaceTold {
  return { id: ids[at] ?? "", says: says[at] ?? "", source: sources[at] ?? "", stone: classes[at] ?? "" };
}

export function yardTold(frame: Frame | null): Yard | null {
  const { stone_yard: stones, stone_places: places, stone_trucks: loads } = frame?.fields ?? {};
  if (!stones || !places || !loads) return null;
  const trucks = new Map(rowsOf(loads).map(([mass = 0, payload = 0], at): [string, TruckOfYard] => [loads.head.ids?.[at] ?? "", { mass, payload }]));
  const { ids = [], says = [], places: dealt = [], holds = [], ops = [] } = stones.head;
  const rows = rowsOf(stones).map(([east = Number.NaN, north = Number.NaN, order = 0, mass = 0], at): YardStone => ({
    id: ids[at] ?? "",
    place: dealt[at] ?? "",
    says: says[at] ?? "",
    point: Number.isFinite(east) ? [east, north] : null,
    order,
    mass,
    kept: holds[at] ?? true,
  }));
  const { places: roles = [] } = places.head;
  const wanted = rowsOf(places).map(([low = 0, high = 0, needed = 0, given = 0, missing = 0], at): YardPlace => ({ ...placeOf(places, at), role: roles[at] ?? "", low, high, needed, dealt: given, missing }));
  return { trucks, stones: new Map(rows.map((row) => [row.id, row])), places: wanted, keep: ops };
}

export interface SetStone {
  readonly id: string;
  /** Machine that sets it; empty where none can. */
  readonly lifter: string;
  readonly verdict: string;
  readonly needs: string;
  readonly mass: number;
  readonly radius: number | null;
  readonly capacity: number | null;
  /** Radius within which some machine could. */
  readonly reach: number | null;
}

export interface LifterReach {
  readonly id: string;
  /** Largest stone's middle side at each radius of its chart [m]. */
  readonly rows: readonly (readonly [radius: number, largest: number])[];
}

/** Stones of one class along a course or at a fall, and what of it the machines reach. */
export interface WithinReach extends StonePlaceTold {
  readonly lifter: string;
  /** Part of it where a machine may set the heaviest. */
  readonly share: number;
  /** Middle side of the largest stone that can be set all along [m]. */
  readonly largest: number;
  /** Heaviest stone as lifted [kg]. */
  readonly mass: number;
}

export interface Setting {
  readonly within: readonly WithinReach[];
  readonly stones: ReadonlyMap<string, SetStone>;
  readonly lifters: readonly LifterReach[];
}

export function settingTold(frame: Frame | null): Setting | null {
  const { stone_set: stones, stone_within: along } = frame?.fields ?? {};
  const reach = named(frame, "stone_reach");
  if (!stones || !along || !reach) return null;
  const { places: machines = [] } = along.head;
  const within = rowsOf(along).map(([share = 0, largest = 0, mass = 0], at): WithinReach => ({ ...placeOf(along, at), lifter: machines[at] ?? "", share, largest, mass }));
  const { ids = [], says = [], places = [], verdicts = [] } = stones.head;
  const known = (value: number | undefined): number | null => (value !== undefined && Number.isFinite(value) ? value : null);
  const rows = rowsOf(stones).map(([mass = 0, radius, , capacity, , near], at): SetStone => ({ id: ids[at] ?? "", lifter: places[at] ?? "", verdict: verdicts[at] ?? "", needs: says[at] ?? "", mass, radius: known(radius), capacity: known(capacity), reach: known(near) }));
  const lifters = reach.map((field): LifterReach => ({ id: field.head.row ?? "", rows: rowsOf(field).map(([radius = 0, largest = 0]) => [radius, largest] as const) }));
  return { within, stones: new Map(rows.map((row) => [row.id, row])), lifters };
}
