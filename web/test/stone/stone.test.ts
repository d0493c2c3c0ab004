import { expect, test, vi } from "vitest";

vi.hoisted(() => {
  globalThis.localStorage = { getItem: () => null, setItem: () => undefined } as unknown as Storage;
});

import type { Share } from "../../src/api/stone";
import type { Job } from "../../src/api/types";
import { NotRead } from "../../src/format/units";
import { idFrom, userOf } from "../../src/panels/stone-cover";
import { movedStones, placesAlike } from "../../src/panels/stone-pieces";
import { zoneWords } from "../../src/panels/zone-words";
import { piecesSheet } from "../../src/panels/stone-sheets";
import { nextTag, placeWords, sidesOf, stonePlaceName, tapeValue, withClass, withShare, withoutClass, zoneNames } from "../../src/panels/stone-parts";
import { pasteOps, planned } from "../../src/panels/sheet";
import { areaOf } from "../../src/plan/plane";
import { handleOf, laidAlong, outlineOf, setSides, shoreTurn, stoneAt, stonePlaces } from "../../src/plan/stones";

const sum = (shares: readonly Share[]): number => shares.reduce((all, one) => all + one.share, 0);
const MIX: readonly Share[] = [{ stone: "small", share: 0.2 }, { stone: "middle", share: 0.5 }, { stone: "big", share: 0.3 }];

test("a share that is set leaves the others what remains, in the proportion that they had", () => {
  const next = withShare(MIX, 1, 0.75);

  expect(next[1]?.share).toBe(0.75);
  expect((next[0]?.share ?? 0) / (next[2]?.share ?? 1)).toBeCloseTo(0.2 / 0.3, 4);
  expect(sum(next)).toBeCloseTo(1, 9);
});

test.each([0, 0.001, 0.3333, 0.999, 1, 5, -1])("shares make one, and none of them is nothing, when one is set to %d", (share) => {
  for (const at of [0, 1, 2]) {
    const next = withShare(MIX, at, share);
    expect(sum(next)).toBeCloseTo(1, 9);
    expect(next.every((one) => one.share > 0 && one.share <= 1)).toBe(true);
  }
});

test("a class comes in with an even share and goes out again", () => {
  const more = withClass(MIX, "giant");
  expect(more.at(-1)).toEqual({ stone: "giant", share: 0.25 });
  expect(sum(more)).toBeCloseTo(1, 9);
  expect(withClass(more, "giant")).toEqual(more);

  const back = withoutClass(more, 3);
  expect(back.map(({ stone }) => stone)).toEqual(["small", "middle", "big"]);
  back.forEach((one, at) => expect(one.share).toBeCloseTo(MIX[at]?.share ?? 0, 5));
  expect(withoutClass([{ stone: "only", share: 1 }], 0)).toEqual([]);
  expect(withShare([{ stone: "only", share: 1 }], 0, 0.4)).toEqual([{ stone: "only", share: 1 }]);
});

test("tapes are read in the unit of the tape, in any order, and any unit that is typed goes before it", () => {
  expect(tapeValue("34", "in")).toBeCloseTo(34 * 0.0254, 9);
  expect(tapeValue("34,5", "cm")).toBeCloseTo(0.345, 9);
  expect(tapeValue("2' 6\"", "cm")).toBeCloseTo(30 * 0.0254, 9);
  expect(tapeValue("1.2 m", "in")).toBeCloseTo(1.2, 9);
  expect(() => tapeValue("0", "cm")).toThrow(NotRead);
  expect(() => tapeValue("wide", "cm")).toThrow(NotRead);
  expect(sidesOf([0.5, 0.9, 0.3])).toEqual({ length: 0.9, width: 0.5, height: 0.3 });
});

test("the number at the end of a tag counts on past those that are taken", () => {
  expect(nextTag("A7", new Set())).toBe("A8");
  expect(nextTag("B-09", new Set(["B-10"]))).toBe("B-11");
  expect(nextTag("big one", new Set())).toBe("");
  expect(nextTag("", new Set())).toBe("");
});

test("names become ids that the document takes", () => {
  const pattern = /^[a-z][a-z0-9_]{0,39}$/;
  for (const name of ["Edge stone, 12 to 20 in", "18 in", "Größe A", "A7"]) expect(idFrom(name)).toMatch(pattern);
  expect(idFrom("…")).toBe("");
});

const curve = { pegs: [[0, 0], [40, 0], [40, 30], [0, 30]].map(([east = 0, north = 0], at) => ({ id: `p${at + 1}`, east, north, corner: true })) };
const job = {
  site: {},
  shape: {
    bodies: { pond: { name: "Pond", outline: { form: "ring", curve }, bank_type: "shelved" } },
    bank_types: { shelved: { points: [{ distance: 0, depth: 0 }, { distance: 0, depth: 0.3 }, { distance: 1, depth: 0.3 }], zone_names: ["riser", "shelf"] } },
  },
  stone: {
    classes: { edge: { low: 0.3, high: 0.5 } },
    treatments: { south: { kind: "courses", place: { at: "stretch", body: "pond", start: "p1", end: "p2" }, classes: [{ stone: "edge", share: 1 }] } },
    pieces: { a1: { length: 1.2, width: 0.8, height: 0.5, tag: "A1", place: { at: "point", east: 20, north: 1 } }, a2: { length: 0.5, width: 0.4, height: 0.3 } },
    piles: { heap: { mass: 1000, place: { at: "point", east: 60, north: 10 } } },
    lifters: { digger: { chart: [{ radius: 4, capacity: 900 }], stands: [{ east: 50, north: 0 }, { east: 50, north: 20 }] } },
  },
} as unknown as Job;

test("zones and places are told by the names that people gave them", () => {
  expect(zoneNames(job, "pond")).toEqual(["riser", "shelf", "the floor"]);
  expect(placeWords(job, { at: "stretch", body: "pond", start: "p1", end: "p2" })).toBe("Pond, p1 to p2");
  expect(placeWords(job, { at: "part", body: "pond", zone: 1 })).toBe("Pond, shelf");
  expect(placeWords(job, { at: "whole", body: "pond" })).toBe("all of Pond");
  expect(userOf(job, "edge")).toBe("rows of stone, Pond, p1 to p2");
  expect(userOf(job, "gravel")).toBeNull();
});

test("zones without a name are told by what they are, as the server tells them", () => {
  const bank = [[0, 0], [0, 0.3], [0.8, 0.3], [1.4, 0.6], [1.4, 0.9], [3, 1.5]].map(([distance = 0, depth = 0]) => ({ distance, depth }));

  expect(zoneWords(bank)).toEqual(["the first step", "the shelf below the first step", "the slope below the first step", "the second step", "the slope below the second step", "the floor"]);
  expect(zoneWords([{ distance: 0, depth: 0 }, { distance: 2, depth: 0.5 }, { distance: 4, depth: 1.5 }])).toEqual(["the slope from the water's edge, the first of them", "the slope from the water's edge, the second of them", "the floor"]);
  expect(zoneWords([])).toEqual(["the floor"]);
});

test("stones that have another place than before are told, new ones and those that stay are not", () => {
  const stones = new Map(Object.entries({ a: "fall_spill", b: "", c: "edge_1", d: "edge_1" }).map(([id, place]) => [id, { id, place, says: "", point: null, order: 0, mass: 1, kept: false }]));

  expect(movedStones(new Map([["a", "fall_frame"], ["b", "edge_1"], ["c", "edge_1"], ["gone", "edge_1"]]), { stones })).toEqual(["a", "b"]);
});

test("a stone stands with its middle side upright, a slab and a spill stone lie", () => {
  const stone = { length: 1.2, width: 0.8, height: 0.5 };
  expect(setSides(stone)).toEqual([1.2, 0.5, 0.8]);
  expect(setSides({ ...stone, shape: "slab" })).toEqual([1.2, 0.8, 0.5]);
  expect(setSides({ ...stone, role: "spill" })).toEqual([1.2, 0.8, 0.5]);
});

test("an outline has the true size and lies the way it is turned, by default along the nearest shore", () => {
  const stone = { length: 2, width: 0.8, height: 0.5, shape: "box" as const };
  const east = outlineOf(stone, [10, 5], Math.PI / 2);
  const reach = (axis: 0 | 1): number => Math.max(...east.map((point) => point[axis])) - Math.min(...east.map((point) => point[axis]));
  expect(reach(0)).toBeCloseTo(2, 6);
  expect(reach(1)).toBeCloseTo(0.5, 6);
  expect(areaOf(east)).toBeGreaterThan(0.9 * 2 * 0.5);
  expect(areaOf(outlineOf({ ...stone, shape: "rounded" }, [0, 0], 0.4))).toBeCloseTo((Math.PI / 4) * 2 * 0.5, 1);
  expect(handleOf(stone, [10, 5], Math.PI / 2)[0]).toBeGreaterThan(11);
  expect(Math.abs(Math.sin(shoreTurn(job, [20, 1])))).toBeCloseTo(1, 6);
  expect(Math.abs(Math.sin(shoreTurn(job, [39, 15])))).toBeCloseTo(0, 6);
});

test("what lies on the plan is found under a press: marks within reach, stones inside their outline", () => {
  expect(stonePlaces(job).map(({ kind, id }) => `${kind} ${id}`)).toEqual(["stone a1", "heap heap", "stand digger", "stand digger"]);
  expect(stoneAt(job, [20.5, 1.05], 0.1)?.id).toBe("a1");
  expect(stoneAt(job, [20, 3], 0.1)).toBeNull();
  expect(stoneAt(job, [50.2, 19.9], 0.5)).toMatchObject({ kind: "stand", id: "digger", at: 1 });
});

test("a course is drawn as stones of its mean size, one beside the other along its line", () => {
  const places = Array.from({ length: 20 }, (_, at) => ({ point: [at * 0.5 + 0.25, 0] as const, face: [0, 1] as const, length: 0.5 }));
  const stones = laidAlong({ places, height: 0.4 });

  expect(stones.length).toBe(Math.round(10 / (0.4 * 1.35)));
  stones.slice(1).forEach(({ middle }, at) => expect(middle[0] - (stones[at]?.middle[0] ?? 0)).toBeCloseTo(0.54, 6));
  expect(stones.every(({ middle: [east, north], along, across }) => Math.abs(north) < 1e-9 && east > 0 && east < 10 && along > across)).toBe(true);
  expect(laidAlong({ places: places.toReversed(), height: 0.4 }).length).toBe(stones.length);
});

test("a list of stones from a spreadsheet becomes rows, and a stone that lacks a side does not", () => {
  const sheet = piecesSheet(job);
  const setting = { shown: "us", waterLine: null, relative: false } as const;
  const pasted = planned(sheet, sheet.rows.length, 0, "K1\t34 in\t22 in\t16 in\t\tslab\tspill stone\tat the yard\t7\nK2\t2 ft", setting);
  expect(pasted.rows.map(({ fault }) => fault !== "")).toEqual([false, true]);

  const [op, ...more] = pasteOps(sheet, pasted);
  expect(more).toEqual([]);
  expect(op?.path).toBe("/stone/pieces/k1");
  expect(op?.value).toMatchObject({ tag: "K1", shape: "slab", role: "spill", stands: "yard", truck: "7" });
  expect((op?.value as { length: number }).length).toBeCloseTo(34 * 0.0254, 6);
});

test("a stone gets a place in the table when both east and north are typed, and loses it when one is emptied", () => {
  const sheet = piecesSheet(job);
  expect(sheet.ops([{ id: "a2", values: { east: 5 } }], [])).toEqual([]);
  expect(sheet.ops([{ id: "a2", values: { east: 5, north: 6 } }], [])).toEqual([{ op: "add", path: "/stone/pieces/a2/place", value: { at: "point", east: 5, north: 6 } }]);
  expect(sheet.ops([{ id: "a1", values: { north: 2 } }], [])[0]?.value).toEqual({ at: "point", east: 20, north: 2 });
  expect(sheet.ops([{ id: "a1", values: { east: null } }], [])).toEqual([{ op: "remove", path: "/stone/pieces/a1/place" }]);
});

test("a place that wants stones is called as its cover, and in the words of the server where it has none", () => {
  const place = { id: "a", says: "Spill stone of fall Upper", source: "stone.falls.upper", stone: "edge" };
  expect(stonePlaceName(job, place)).toBe("Spill stone of fall Upper");
  expect(stonePlaceName(job, { ...place, source: "stone.treatments.south" })).toBe("rows of stone, Pond, p1 to p2: edge");
  expect(stonePlaceName(job, { ...place, source: "stone.treatments.south", stone: "step_350" })).toBe("rows of stone, Pond, p1 to p2");
});

test("places of the same words and sizes are told as one", () => {
  const place = { id: "a", says: "Course 1", source: "stone.treatments.south", stone: "edge", role: "edge", low: 0.3, high: 0.5, needed: 10, dealt: 1, missing: 9 };
  expect(placesAlike([place, { ...place, id: "b", needed: 5, dealt: 5, missing: 0 }, { ...place, id: "c", high: 0.6 }])).toMatchObject([
    { needed: 15, dealt: 6, missing: 9 },
    { needed: 10, dealt: 1, missing: 9 },
  ]);
});
