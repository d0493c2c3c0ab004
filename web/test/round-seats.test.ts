import { describe, expect, test } from "vitest";
import type { Job } from "../src/api/types";
import { bandFaces } from "../src/three/built";
import { flown } from "../src/three/flight";
import { isFree } from "../src/three/free-sight";
import { guessOf, rounded } from "../src/three/guessed";
import { aheadOf, headByKey, headNearer, headTowards, headTurned, pulled, takesIn } from "../src/three/head";
import { type Spot, type Water, middleOfWaters, seatFaces, spotsOf } from "../src/three/seats";
import { seenPixels } from "../src/three/seen";
import { type Surface, heightOn, normalsOf, terrainOf } from "../src/three/terrain";
import { thingFaces } from "../src/three/things";

const EYE = [10, 20, 101.2] as const;
const level = (): number => 100;

function surfaceOf(columns: number, rows: number, height: (column: number, row: number) => number, spacing = 1): Surface {
  const data = Float32Array.from({ length: columns * rows }, (_, node) => height(node % columns, Math.floor(node / columns)));
  const head = { name: "z", dtype: "float32", shape: [rows, columns], offset: 0 } as const;
  return { field: { head, data, shape: [rows, columns], scale: 1, zero: 0, columns: [] }, grid: { origin_east: 0, origin_north: 0, spacing, columns, rows } };
}

function jobWith(shape: object, things: object = {}): Job {
  return { shape: { bodies: {}, seats: {}, ways: {}, ...shape }, site: { things } } as unknown as Job;
}

const pond: Water = { body: "pond", level: 99, rings: [[[0, 0], [0, 4], [4, 4], [4, 0]]] };

describe("the head of one who sits", () => {
  test("looks at a place: north is ahead, east is to the right, below is down", () => {
    const head = headTowards(EYE, [13, 23, 101.2 - Math.hypot(3, 3)]);

    expect(head.turn).toBeCloseTo(Math.PI / 4);
    expect(head.tilt).toBeCloseTo(-Math.PI / 4);
    aheadOf(head).forEach((part, axis) => expect(part).toBeCloseTo([0.5, 0.5, -Math.SQRT1_2][axis] as number));
  });

  test("is turned by keys, never over, and Home looks ahead again", () => {
    const first = headTowards(EYE, [10, 30, 100]);
    const right = headByKey(first, "ArrowRight", first);

    expect(right?.turn).toBeGreaterThan(first.turn);
    expect(headTurned(first, 0, 9).tilt).toBeLessThan(Math.PI / 2);
    expect(headByKey(right ?? first, "Home", first)).toBe(first);
    expect(headByKey(first, "a", first)).toBeNull();
  });

  test("keeps under the hand what is pulled: half the height of the picture is half of what it takes in", () => {
    const head = headTowards(EYE, [10, 30, 101.2]);
    const moved = pulled(head, 50, 100, 200, 1);

    expect(moved.tilt).toBeCloseTo(takesIn(head, 1) / 2);
    expect(moved.turn).toBeCloseTo(-takesIn(head, 1) / 4);
  });

  test("takes in no more than a quarter turn across, and less when it looks closer", () => {
    const head = headTowards(EYE, [10, 30, 100]);
    const across = (aspect: number): number => 2 * Math.atan(aspect * Math.tan(takesIn(head, aspect) / 2));

    expect(across(4)).toBeCloseTo(Math.PI / 2);
    expect(takesIn(head, 0.5)).toBeCloseTo(Math.PI / 3);
    expect(takesIn(headNearer(head, 2), 1)).toBeLessThan(takesIn(head, 1));
    expect(headNearer(head, 0.1).closer).toBe(1);
  });

  test("flies from where it was to where it is to be", () => {
    const from = { place: [0, 0, 50], ahead: [0, 0, -1], upright: 0.6, factor: 2 } as const;
    const to = { place: [10, 20, 1], ahead: [0, 1, 0], upright: 1, factor: 1 } as const;

    expect(flown(from, to, 0)).toEqual(from);
    expect(flown(from, to, 1)).toEqual(to);
    expect(flown(from, to, 0.5).factor).toBeCloseTo(1.5);
    expect(Math.hypot(...flown(from, to, 0.5).ahead)).toBeCloseTo(1);
  });
});

describe("seats in the round", () => {
  test("have their eyes where the model tells, and over the ground until it does", () => {
    const job = jobWith({ seats: { bench: { name: "Bench", place: { at: "point", east: 2, north: -3 } }, window: { kind: "window", eye_height: 1.5, place: { at: "point", east: 9, north: 9 } } } });
    const columns = ["east", "north", "elevation", "share"];
    const head = { name: "views", dtype: "float64", shape: [1, 4], offset: 0, ids: ["bench"], columns } as const;
    const field = { head, data: Float64Array.from([2, -3, 102.4, 0.5]), shape: [1, 4], scale: 1, zero: 0, columns };
    const [bench, frame] = spotsOf(job, { field, head, grid: null }, [pond], level);

    expect(bench).toMatchObject({ id: "bench", name: "Bench", eye: [2, -3, 102.4], at: [2, 2, 99] });
    expect(bench?.foot).toBeCloseTo(101.2);
    expect(frame).toMatchObject({ kind: "window", eye: [9, 9, 101.5], foot: 100 });
  });

  test("look at what their row names", () => {
    const place = { at: "point", east: 2, north: -3 };
    const job = jobWith({ seats: { falls: { place, looks_at: [{ at: "point", east: 7, north: 8 }] }, upper: { place, looks_at: [{ at: "whole", body: "pool" }] } } });
    const pool: Water = { body: "pool", level: 105, rings: [[[10, 10], [12, 10], [12, 12], [10, 12]]] };

    expect(spotsOf(job, null, [pond, pool], level).map(({ at }) => at)).toEqual([[7, 8, 100], [11, 11, 105]]);
  });

  test("find the middle of the water whichever way its shore runs", () => {
    const back: Water = { ...pond, rings: [pond.rings[0]!.toReversed()] };

    expect(middleOfWaters([pond])).toEqual([2, 2, 99]);
    expect(middleOfWaters([back])).toEqual([2, 2, 99]);
    expect(middleOfWaters([])).toBeNull();
  });

  test.each(["seat", "window", "stop"] as const)("a %s stands on its foot and reaches its eye", (kind) => {
    const spot: Spot = { id: "one", name: "One", kind, eye: [5, 5, 101.2], foot: 100, at: [5, 9, 99] };
    const heights = seatFaces([spot]).flatMap((face) => face.map(([, , height]) => height));

    expect(Math.min(...heights)).toBeCloseTo(100);
    expect(Math.max(...heights)).toBeGreaterThanOrEqual(101.2);
  });
});

describe("what lies and stands on the ground that is drawn", () => {
  const bumpy = surfaceOf(6, 5, (column, row) => 100 + ((column * 7 + row * 3) % 5) / 10);
  const terrain = terrainOf(bumpy, 100, [0, 0, 0]);

  test("has the height of its triangles: of the nodes at nodes, of the diagonal on it", () => {
    const at = (column: number, row: number): number => bumpy.field.data[row * 6 + column] as number;

    for (const [column, row] of [[0, 0], [3, 2], [5, 4]] as const) expect(heightOn(terrain, column, row)).toBeCloseTo(at(column, row), 5);
    expect(heightOn(terrain, 2.5, 2.5)).toBeCloseTo((at(2, 2) + at(3, 3)) / 2, 5);
    expect(heightOn(terrain, 3.5, 2.5)).toBeCloseTo((at(4, 2) + at(3, 3)) / 2, 5);
    expect(heightOn(terrain, -7, 2)).toBeCloseTo(at(0, 2), 5);
  });

  test("follows a thinned terrain, whose last column is nearer", () => {
    const slope = terrainOf(surfaceOf(6, 6, (column, row) => column + 2 * row), 3, [0, 0, 0]);

    expect(slope.columns).toBe(3);
    expect(heightOn(slope, 4.6, 1.3)).toBeCloseTo(4.6 + 2.6, 4);
  });

  test("is shaded by the slope of the ground", () => {
    const [x, y, z] = normalsOf(terrainOf(surfaceOf(4, 4, (column) => column), 100, [0, 0, 0])).slice(15, 18);

    expect([x, y, z]).toEqual([expect.closeTo(-Math.SQRT1_2), expect.closeTo(0), expect.closeTo(Math.SQRT1_2)]);
  });

  test("a path lies on the ground without a gap where it bends", () => {
    const job = jobWith({ ways: { path: { kind: "path", width: 2, place: { at: "line", points: [{ east: 0, north: 0 }, { east: 4, north: 0 }, { east: 4, north: 4 }] } } } });
    const faces = bandFaces(job, (east, north) => east + north);

    expect(faces.length).toBeGreaterThan(0);
    for (const face of faces) for (const [east, north, height] of face) expect(height - east - north).toBeCloseTo(0.03);
    const last = faces.slice(-4).flat().map(([east]) => east);
    expect([Math.min(...last), Math.max(...last)]).toEqual([expect.closeTo(3), expect.closeTo(5)]);
  });

  test("a house has a level top, and one who looks out of its window does not see it", () => {
    const job = jobWith({}, { house: { kind: "house", size: 4, place: { at: "point", east: 10, north: 10 } }, tree: { kind: "tree", size: 9, place: { at: "point", east: 0, north: 0 } } });
    const inside: Spot = { id: "w", name: "Window", kind: "window", eye: [12.5, 10, 101], foot: 100, at: [0, 0, 99] };
    const faces = thingFaces(job, (east) => 100 + east / 10, () => true, null);

    expect(Math.max(...faces.flat().map(([, , height]) => height))).toBeCloseTo(100 + 1.2 + 5);
    expect(thingFaces(job, level, () => true, inside)).toEqual([]);
    expect(thingFaces(job, level, () => false, null)).toEqual([]);
  });

  test("a hill hides what is behind it", () => {
    const hill = (east: number): number => (Math.abs(east - 5) < 1 ? 103 : 100);

    expect(isFree([0, 0, 101], [10, 0, 101], hill)).toBe(false);
    expect(isFree([0, 0, 106], [10, 0, 106], hill)).toBe(true);
  });
});

describe("ground beyond the shots", () => {
  const known = surfaceOf(40, 12, (column) => (column < 10 ? 2 : 3));
  // A jump between two guessed halves, which runs askew to the grid.
  const ground = surfaceOf(40, 12, (column, row) => (column < 10 ? 100 : column + row < 32 ? 100 : 101));
  const guess = guessOf(ground, known);

  function steepest(surface: Surface): number {
    const { data } = surface.field;
    return Math.max(...Array.from(data, (height, node) => (node % 40 === 39 ? 0 : Math.abs((data[node + 1] as number) - height))));
  }

  test("loses its jumps in the picture, and what was shot stays", () => {
    const drawn = rounded(ground, ground, guess);

    expect(steepest(ground)).toBe(1);
    expect(steepest(drawn)).toBeLessThan(0.4);
    for (let node = 0; node < 480; node += 1) if (node % 40 < 10) expect(drawn.field.data[node]).toBe(100);
  });

  test("keeps its slopes, and what is built on it", () => {
    const slope = surfaceOf(40, 12, (column) => column / 4);
    const built = surfaceOf(40, 12, (column) => (column === 25 ? 107 : ground.field.data[column] as number));

    expect(steepest(rounded(slope, slope, guessOf(slope, known)))).toBeCloseTo(0.25, 4);
    expect(rounded(built, ground, guess).field.data[25]).toBe(107);
  });
});

test("hidden water is another colour than seen water, and striped", () => {
  const seen = Uint8Array.from({ length: 400 }, (_, node) => (node % 20 < 8 ? 1 : 0));
  const pixels = seenPixels(seen, { origin_east: 0, origin_north: 0, spacing: 0.5, columns: 20, rows: 20 }, { water: "#6bc1bc", paper: "#fff", ink: "#000000", shore: "#0b7a74" });
  const at = (column: number, row: number): string => pixels.slice(4 * (row * 20 + column), 4 * (row * 20 + column) + 3).join(" ");
  const hidden = new Set(Array.from({ length: 20 }, (_, row) => at(15, row)));

  expect(at(3, 5)).toBe("107 193 188");
  expect(hidden).toEqual(new Set(["255 255 255", "0 0 0"]));
});
