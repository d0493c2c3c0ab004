import { expect, test } from "vitest";
import type { IncomingFile } from "../src/api/survey-rest";
import type { Job } from "../src/api/types";
import { type Json, applyOps } from "../src/state/ops";
import { standIn } from "./fakes";

standIn();
const { checksOf, takenOps } = await import("../src/panels/book");
const { swappedOrder } = await import("../src/panels/incoming");
const { cellsOf } = await import("../src/panels/incoming-picture");
const { locateOps, placeOf, shotsNamed } = await import("../src/panels/locating");
const { volumeAt } = await import("../src/panels/old-pond-picture");
const { FLAG_BOX, PEG_BOX, besideBox, isFree, underBox } = await import("../src/plan/labels");
const { drawnShots, found } = await import("../src/plan/located");

const boxes = { shot: "", marks: ["a", "b", ""] as const, elevation: null, code: "", side: "left" as const };
const job = { site: { shots: { s1: { place: { by: "book" } } } }, shape: {} } as unknown as Job;

test("each way of placing a shot tells the place as the document holds it", () => {
  expect(placeOf({ ...boxes, way: "coordinates", numbers: { east: 1, north: 2 } })).toEqual({ by: "coordinates", east: 1, north: 2 });
  expect(placeOf({ ...boxes, way: "bearing", numbers: { bearing: 0.5, distance: 9 } })).toEqual({ by: "bearing", from_mark: "a", bearing: 0.5, distance: 9 });
  expect(placeOf({ ...boxes, way: "offset", side: "right", numbers: { along: 4, off: 2 } })).toEqual({ by: "offset", base: ["a", "b"], along: 4, off: -2 });
  expect(placeOf({ ...boxes, way: "grid", numbers: { spacing: 5, steps: 3, stepsOff: 1 } })).toEqual({ by: "grid", base: ["a", "b"], spacing: 5, along: 3, off: 1 });
  expect(placeOf({ ...boxes, way: "tapes", numbers: { tape0: 3, tape1: 4 } })).toEqual({
    by: "tapes", side: "left", tapes: [{ mark: "a", distance: 3 }, { mark: "b", distance: 4 }],
  });
});

test("what a place lacks is told in one sentence", () => {
  expect(placeOf({ ...boxes, way: "tapes", numbers: { tape0: 3 } })).toContain("missing");
  expect(placeOf({ ...boxes, way: "tapes", marks: ["a", "b", "c"], numbers: { tape0: 3, tape1: 4 } })).toContain("missing");
  expect(placeOf({ ...boxes, way: "offset", marks: ["a", "a", ""], numbers: { along: 1, off: 1 } })).toContain("another point");
});

test("a shot of the field book gets its place and keeps the rest; a new one brings its height", () => {
  const place = { by: "coordinates", east: 1, north: 2 } as const;

  expect(locateOps(job, "s1", place, { elevation: 9, code: "rim" })).toEqual([{ op: "replace", path: "/site/shots/s1/place", value: place }]);
  expect(locateOps(job, "s2", place, { elevation: 9, code: "rim" })).toEqual([{ op: "add", path: "/site/shots/s2", value: { place, elevation: 9, code: "rim" } }]);
});

test("shots along the paint are named one by one or from here to there", () => {
  const shots = ["s9", "s10", "s11", "s12", "p7"];

  expect(shotsNamed("s9-s11, p7", shots)).toEqual(["s9", "s10", "s11", "p7"]);
  expect(shotsNamed("12 to 10; 7", shots)).toEqual(["s12", "s11", "s10", "p7"]);
  expect(shotsNamed("s9 s10 s99", shots)).toContain("s99");
  expect(shotsNamed("s9 s10", shots)).toContain("at least 3");
});

test("a pasted page goes behind what the book has, with the points that it brings", () => {
  const book = { set_ups: [{ station: "1", backsights: [], readings: [] }] };
  const found = {
    rows: [], columns: [], says: "", fault: "", marks: { bm: { elevation: 30 } }, shots: { p1: { place: { by: "book" as const } } },
    book: { set_ups: [{ station: "2", backsights: [{ point: "bm", rod: 1 }], readings: [] }] },
  };
  const before = { site: { books: { day: book } }, shape: {} };

  const { site } = applyOps(before as unknown as Json, takenOps("day", book, found)) as unknown as Job;

  expect(site.books?.["day"]?.set_ups?.map(({ station }) => station)).toEqual(["1", "2"]);
  expect(site.marks).toEqual({ bm: { elevation: 30 } });
  expect(site.shots).toEqual({ p1: { place: { by: "book" } } });
});

test("the checks of a book are those that name it or a part of it", () => {
  const check = (path: string) => ({ where: { paths: [path], points: [] } }) as never;

  expect(checksOf([check("site.books.day"), check("site.books.day.set_ups.0"), check("site.books.daylight"), check("site.shots.s1")], "day")).toHaveLength(2);
});

test("east and north of a file change places, and a file without columns has nothing to swap", () => {
  expect(swappedOrder(["name", "east", "north", "-"])).toEqual(["name", "north", "east", "-"]);
  expect(swappedOrder([] satisfies IncomingFile["order"])).toBeNull();
});

test("cells of a picture lie where its corners lie, turned or not, and empty ones are left out", () => {
  const cells = cellsOf([[1, null], [3, 5]], [[10, 20], [10, 22], [8, 20]], 1, 5);

  expect(cells.map(({ step }) => step)).toEqual([0, 2, 4]);
  expect(cells[2]?.corners).toEqual([[9, 21], [9, 22], [8, 22], [8, 21]]);
});

test("the old hole holds nothing below its floor and is not told above its lip", () => {
  const curve = { name: "hole", points: [{ level: 1, volume: 0 }, { level: 2, volume: 10 }, { level: 3, volume: 30 }] };

  expect([0, 1.5, 2.5, 3, 3.1].map((level) => volumeAt(curve, level))).toEqual([0, 5, 20, 30, null]);
});

test("a label has room where nothing stands, and the farther one looks from the less room there is", () => {
  const peg = [{ point: [10, 0] as const, box: PEG_BOX }];
  const words = besideBox(["100.00 ft", "rim"], "right");

  expect(isFree([0, 0], words, peg, 0.1)).toBe(true);
  expect(isFree([0, 0], words, peg, 0.2)).toBe(false);
  expect(isFree([0, 0], besideBox(["100.00 ft", "rim"], "left"), peg, 0.2)).toBe(true);
  expect(isFree([10, 0.5], underBox("Oak", "below"), [{ point: [10, 0], box: FLAG_BOX }], 0.05)).toBe(false);
});

test("shots that were not placed by coordinates are drawn where they were found, with the height of the book", () => {
  const shots = { s1: { place: { by: "tapes" } }, s2: { place: { by: "coordinates", east: 1, north: 2 }, elevation: 9 } } as never as Parameters<typeof drawnShots>[0];
  expect(drawnShots(shots)).toBe(shots);

  found.value = new Map([["s1", { point: [5, 6], elevation: 30 }]]);

  expect(drawnShots(shots)).toMatchObject({ s1: { place: { by: "coordinates", east: 5, north: 6 }, elevation: 30 } });
  expect(drawnShots(shots)["s2"]).toBe(shots["s2"]);
  expect(drawnShots(shots)).toBe(drawnShots(shots));
  found.value = new Map();
});
