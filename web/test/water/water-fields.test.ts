import { describe, expect, test, vi } from "vitest";

vi.hoisted(() => {
  globalThis.localStorage = { getItem: () => null, setItem: () => undefined } as unknown as Storage;
});

import type { ArrayHead, Field, Frame } from "../../src/api/frame";
import type { Job } from "../../src/api/types";
import { drainsOf, newestTold, offersOf, routesOf } from "../../src/plan/water-fields";
import { drainPlaceAt, floodReach, linedRuns } from "../../src/section/drain-line";
import { linedRuns as cutRuns, placesOf } from "../../src/section/profile";
import { waterSheet } from "../../src/panels/water-sheets";
import { type Json, applyOps } from "../../src/state/ops";
import { smallJob } from "../plan/fake-hand";

function field(name: string, rows: readonly (readonly number[])[], head: Partial<ArrayHead> = {}): Field {
  const shape = [rows.length, rows[0]?.length ?? 0];
  const full = { name, dtype: "float64", shape, offset: 0, ...head } as ArrayHead;
  return { head: full, data: new Float64Array(rows.flat()), shape, scale: 1, zero: 0, columns: [] };
}

function frame(...fields: readonly Field[]): Frame {
  return { header: { arrays: fields.map(({ head }) => head) }, fields: Object.fromEntries(fields.toReversed().map((one) => [one.head.name, one])), every: fields } as unknown as Frame;
}

const PROFILE = [
  [0, 0, 0, 98, 100, 100, 100, 0, 99],
  [10, 10, 0, 97.5, 100, 99, 98.8, 1, 98.5],
  [20, 20, 0, 97, 100, 99, 98.8, 1, -9999],
  [30, 30, 0, 96.5, 99, 99, 99, 0, -9999],
];
const drain = (flood: number | null) => field("drains", PROFILE, { drain: "relief", bends: [0, 30], falls: [0.05], eyes: [0], diameter: 0.1, ends: "culvert", flood });

describe("drains of a frame", () => {
  test("come with their places, and groundwater that nobody knows is none", () => {
    const [told] = drainsOf(frame(field("all_drains", [[0]]), drain(97))) ?? [];

    expect(told).toMatchObject({ id: "relief", ends: "culvert", flood: 97, bends: [0, 30] });
    expect(told?.places.map(({ water }) => water)).toEqual([99, 98.5, null, null]);
    expect(told?.places[1]).toMatchObject({ point: [10, 0], invert: 97.5, lined: true });
  });

  test("a frame that does not tell of them leaves the last ones, one that tells of none takes them away", () => {
    const read = newestTold(drainsOf);

    expect(read(frame(field("all_drains", [[0]]), drain(null)))).toHaveLength(1);
    expect(read(frame())).toHaveLength(1);
    expect(read(frame(field("all_drains", [])))).toEqual([]);
  });

  test("between two places everything is between, and under a pond it is lined", () => {
    const places = drainsOf(frame(field("all_drains", [[0]]), drain(null)))?.[0]?.places ?? [];

    expect(drainPlaceAt(places, 5)).toMatchObject({ invert: 97.75, point: [5, 0], water: 98.75, lined: true });
    expect(drainPlaceAt(places, 31)).toBeNull();
    expect(linedRuns(places).map((run) => run.map(({ station }) => station))).toEqual([[10, 20]]);
  });

  test("a flood is shown as far up as it stands in the pipe", () => {
    const reach = (flood: number | null): number | null => floodReach((drainsOf(frame(field("all_drains", [[0]]), drain(flood))) ?? [])[0] as never);

    expect(reach(97.2)).toBe(20);
    expect(reach(96)).toBe(27);
    expect(reach(null)).toBeNull();
  });
});

test("ways out are read with their numbers, and what nothing pushes has no factor", () => {
  const ops = [{ op: "add" as const, path: "/groundwater/drains/relief", value: {} }];
  const told = offersOf(frame(field("all_offers", [[0]], { ids: ["pond"] }), field("offers", [[0.1, -0.2, Number.NaN, 29, 1e-4], [Number.NaN, Number.NaN, Number.NaN, Number.NaN, Number.NaN]], { body: "pond", ids: ["drain", "sump"], says: ["Add a drain", "Keep a sump"], refused: ["", "it is too deep"], holds: [true, false], edits: [ops, []] })));

  expect(told?.[0]?.body).toBe("pond");
  expect(told?.[0]?.offers[0]).toEqual({ id: "drain", says: "Add a drain", refused: "", holds: true, ops, change: 0.1, excess: -0.2, net: null, mark: 29, flow: 1e-4 });
  expect(told?.[0]?.offers[1]).toMatchObject({ refused: "it is too deep", holds: false, ops: [] });
});

test("routes are read with the edit that lays them, and the places from which none falls", () => {
  const told = routesOf(frame(field("all_routes", [[0]], { ids: ["pond_culvert"], stuck: ["seep"] }), field("routes", [[0, 1, 98], [5, 6, 97]], { route: "pond_culvert", outlet: "culvert", crosses: ["`gas`"], ops: [] })));

  expect(told?.stuck).toEqual(["seep"]);
  expect(told?.routes[0]).toEqual({ name: "pond_culvert", outlet: "culvert", points: [[0, 1], [5, 6]], inverts: [98, 97], crosses: ["`gas`"], ops: [] });
});

test("a section has its groundwater, and a liner where water stands", () => {
  const places = placesOf(field("section", [[0, 10, 10, 10, -9999, 0, 0, 9], [1, 10, 8, 7.9, 9.5, 1, 0, 8.5], [2, 10, 8, 7.9, 9.5, 2, 0, -9999]]));

  expect(places.map(({ below }) => below)).toEqual([9, 8.5, null]);
  expect(cutRuns(places).map((run) => run.map(({ station }) => station))).toEqual([[1, 2]]);
});

describe("tables of the groundwater", () => {
  const job: Job = {
    ...smallJob(),
    groundwater: {
      readings: { sp1: { kind: "standpipe", place: { at: "point", east: 1, north: 2 }, wet: 99 }, swale: { kind: "ditch", place: { at: "line", points: [{ east: 0, north: 0 }, { east: 1, north: 0 }] } } },
      drains: { relief: { place: { at: "line", points: [{ east: 0, north: 0 }, { east: 9, north: 0 }] }, inverts: [98, 97], into: "culvert" } },
      outlets: { culvert: { place: { at: "point", east: 9, north: 0 }, invert: 97 } },
    },
  };
  const after = (ops: Parameters<typeof applyOps>[1]): Job => applyOps(job as unknown as Json, ops) as unknown as Job;

  test("a reading is moved and a new one put in as one edit; a ditch has its line on the plan", () => {
    const sheet = waterSheet(job, "readings");
    const next = after(sheet.ops([{ id: "sp1", values: { east: 5, dry: 98 } }], [{ kind: "seep", east: 3, north: 4, wet: 99, name: "" }])).groundwater?.readings;

    expect(next?.["sp1"]).toMatchObject({ place: { at: "point", east: 5, north: 2 }, dry: 98, wet: 99 });
    expect(next?.["reading_1"]).toEqual({ place: { at: "point", east: 3, north: 4 }, kind: "seep", wet: 99, status: "existing" });
    expect(Object.keys(sheet.rows.find(({ id }) => id === "swale")?.fixed ?? {})).toEqual(["east", "north"]);
    expect(sheet.lacks({ east: 1, north: 1 })).not.toBe("");
  });

  test("the ends of a drain are the first and the last of its bottoms", () => {
    const sheet = waterSheet(job, "drains");

    expect(after(sheet.ops([{ id: "relief", values: { lower: 96.8, working: false } }], [])).groundwater?.drains?.["relief"]).toMatchObject({ inverts: [98, 96.8], working: false });
    expect(sheet.lacks({})).not.toBe("");
  });

  test("an outlet stays as long as a drain runs into it", () => {
    expect(waterSheet(job, "outlets").removal("culvert")).toContain("relief");
    expect(waterSheet(job, "readings").removal("sp1")).toEqual([{ op: "remove", path: "/groundwater/readings/sp1" }]);
  });
});
