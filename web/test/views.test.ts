import { describe, expect, test } from "vitest";
import type { Field, Frame } from "../src/api/frame";
import { areasBetween } from "../src/charts/areas";
import { newest, newestOfBodies } from "../src/charts/fields";
import { levelRows, reasons, rowNearest, saidOf, tableOfBody } from "../src/charts/level-rows";
import { exaggeration, pixelOf, roomy, roundStep, shortFactor, spread, tickDigits, ticks, valueAt } from "../src/charts/scale";
import { mainBody } from "../src/panels/main-body";
import { deepestPlace, inside, longSection } from "../src/section/long-axis";
import { placeOn, placesOf, stationAlong, waterRuns } from "../src/section/profile";
import { FROM_SOUTH, nearer, offsetOf, turned, turnedByKey } from "../src/three/orbit";
import { heightNear, netOf, reachOf, strideFor, terrainOf } from "../src/three/terrain";

const fieldOf = (rows: readonly (readonly number[])[], columns: readonly string[] = []): Field =>
  ({ data: Float64Array.from(rows.flat()), shape: [rows.length, rows[0]?.length ?? 0], scale: 1, zero: 0, columns, head: {} }) as unknown as Field;
const headed = (name: string, body: string | undefined): Field => ({ ...fieldOf([[1]]), head: { name, body } }) as unknown as Field;
const frameOf = (fields: Record<string, Field>): Frame => ({ header: {}, fields }) as unknown as Frame;

describe("axes", () => {
  const up = { values: [10, 12], pixels: [200, 0] } as const;

  test("go to pixels and back", () => {
    expect(pixelOf(up, 11)).toBe(100);
    expect(valueAt(up, 50)).toBe(11.5);
  });

  test("say how many times larger heights are drawn", () => {
    expect(exaggeration({ values: [0, 50], pixels: [0, 500] }, up)).toBe(10);
    expect(shortFactor(12.34)).toBe("12");
  });

  test("step by round numbers of the units shown", () => {
    expect(roundStep(0.13, "metric")).toBeCloseTo(0.2);
    expect(roundStep(0.13, "us") / 0.3048).toBeCloseTo(0.5);
    expect(roundStep(0.13, "us_inch") / 0.0254).toBeCloseTo(6);
    expect(roundStep(0.5, "us_inch") / 0.3048).toBeCloseTo(2);
  });

  test("have as many decimals as tell the steps apart", () => {
    expect(tickDigits(0.2, "metric")).toBe(1);
    expect(tickDigits(5, "metric")).toBe(0);
    expect(tickDigits(0.05 * 0.3048, "us")).toBe(2);
  });

  test("tick inside their span, both ends counted", () => {
    expect(ticks([0, 1], 0.5)).toEqual([0, 0.5, 1]);
    expect(ticks([0.1, 0.4], 0.5)).toEqual([]);
  });

  test("have room round the values and a least height", () => {
    const [low, high] = roomy([5, 5.1], 1, 0);

    expect(high - low).toBeCloseTo(1);
    expect((low + high) / 2).toBeCloseTo(5.05);
  });

  test("labels make room for each other", () => {
    const [one, other] = spread([100, 104], 20);

    expect((other as number) - (one as number)).toBeCloseTo(20);
    expect(((other as number) + (one as number)) / 2).toBeCloseTo(102);
    expect(spread([0, 100], 20)).toEqual([0, 100]);
  });
});

describe("areas between two lines", () => {
  const at = (station: number, upper: number) => ({ station, upper });

  test("end where the lines cross", () => {
    const [area, ...others] = areasBetween([at(0, 1), at(2, -1)], ({ upper }) => upper, () => 0);

    expect(others).toEqual([]);
    expect(area).toEqual([[0, 1], [1, 0], [1, 0], [0, 0]]);
  });

  test("are apart where the line dips under", () => {
    expect(areasBetween([at(0, 1), at(1, -1), at(2, 1)], ({ upper }) => upper, () => 0)).toHaveLength(2);
  });

  test("are none where the lines lie on each other", () => {
    expect(areasBetween([at(0, 0), at(1, 0)], ({ upper }) => upper, () => 0)).toEqual([]);
  });
});

describe("fields of frames", () => {
  test("stay when a later frame does not carry them", () => {
    const read = newest("storage");
    const field = fieldOf([[1, 2, 3]]);

    expect(read(frameOf({ storage: field }))).toBe(field);
    expect(read(frameOf({}))).toBe(field);
  });

  test("come one for each body", () => {
    const read = newestOfBodies("strip");
    const frame = { every: [headed("strip", "pond"), headed("z", undefined), headed("strip", "pool")] } as unknown as Frame;

    expect(read(frame).map(({ head }) => head.body)).toEqual(["pond", "pool"]);
    expect(read({ every: [] } as unknown as Frame)).toHaveLength(2);
  });
});

describe("the section", () => {
  const places = placesOf(
    fieldOf([
      [0, 10, 10, 10, -9999, 0, 0],
      [2, 10, 8, 7.8, 9, 2, 0],
      [4, 10, 8, 7.8, 9, 4, 0],
      [6, 10, 10, 10, -9999, 6, 0],
    ]),
  );

  test("has water only where the server says a level", () => {
    expect(places.map(({ water }) => water)).toEqual([null, 9, 9, null]);
    expect(waterRuns(places)).toEqual([{ from: 2, to: 4, level: 9 }]);
  });

  test("reads between its places", () => {
    expect(placeOn(places, 1)).toMatchObject({ finish: 9, water: null, point: [1, 0] });
    expect(placeOn(places, 7)).toBeNull();
  });

  test("finds the station next to a point of the plan", () => {
    expect(stationAlong(places, [3, 1])).toEqual({ station: 3, distance: 1 });
  });

  test("goes along the long axis through the deepest place, beyond both shores", () => {
    const ring = [[0, 0], [30, 0], [30, 10], [0, 10]] as const;
    const line = longSection(ring, [20, 4]) as readonly (readonly [number, number])[];

    expect(line[0]?.[1]).toBeCloseTo(4);
    expect(line[1]?.[1]).toBeCloseTo(4);
    expect(line[0]?.[0]).toBeLessThan(-2.9);
    expect(line[1]?.[0]).toBeGreaterThan(32.9);
  });

  test("goes through the middle when the deepest place lies elsewhere", () => {
    const line = longSection([[0, 0], [30, 0], [30, 10], [0, 10]], [100, 100]) as readonly (readonly [number, number])[];

    expect(line[0]?.[1]).toBeCloseTo(5);
  });

  test("knows the deepest place of a grid", () => {
    const grid = { origin_east: 100, origin_north: 50, spacing: 2, columns: 3, rows: 2 };
    const dry = fieldOf([[0, 0, 0], [0, 0, 0]]);

    expect(deepestPlace(fieldOf([[0, 0.5, 0], [0, 0, 1.5]]), grid)).toEqual([104, 52]);
    expect(deepestPlace(dry, grid)).toBeNull();
    expect(inside([[0, 0], [4, 0], [0, 4]], [1, 1])).toBe(true);
    expect(inside([[0, 0], [4, 0], [0, 4]], [3, 3])).toBe(false);
  });
});

describe("the table of levels", () => {
  const field = fieldOf([[5, 10.1, 1], [6, 10, 2], [7, 10.2, 3]], ["dug", "level", "placed"]);

  test("finds columns by their names and puts the lowest level first", () => {
    expect(levelRows(field).map(({ level, dug }) => [level, dug])).toEqual([[10, 6], [10.1, 5], [10.2, 7]]);
  });

  test("marks the balanced row of the server, and only in the table of the body that is asked for", () => {
    const balanced = { ...field, head: { ...field.head, body: "wetland", balanced: 0 } };
    const other = { ...field, head: { ...field.head, body: "pond", balanced: null } };

    expect(levelRows(tableOfBody([other, balanced], "wetland")).filter((row) => row.balanced).map(({ level }) => level)).toEqual([10.1]);
    expect(levelRows(tableOfBody([other, balanced], "pond")).some((row) => row.balanced)).toBe(false);
    expect(levelRows(tableOfBody([other, balanced], "stream"))).toEqual([]);
  });

  test("tells what speaks against levels, each reason once, and why the balanced one is not offered", () => {
    const told = { ...field, head: { ...field.head, says: ["It runs over.", "", "It runs over."], balance_refused: "It runs over." } } as unknown as Field;
    const rows = levelRows(told);

    expect(reasons(rows)).toEqual([["It runs over.", rows.filter(({ says }) => says).map(({ level }) => level)]]);
    expect(rows.filter(({ says }) => says)).toHaveLength(2);
    expect(saidOf(told)).toEqual({ refused: "It runs over.", warned: "" });
    expect(saidOf(null)).toEqual({ refused: "", warned: "" });
  });

  test("is about the body kept balanced, or the largest pond", () => {
    const areas: Readonly<Record<string, number>> = { intake: 900, small: 10, large: 40 };
    const bodies = { intake: { role: "intake_pool" }, small: {}, large: { role: "pond" } };

    expect(mainBody(bodies, (name) => areas[name] ?? 0)).toBe("large");
    expect(mainBody({ ...bodies, small: { keep_balanced: true } }, (name) => areas[name] ?? 0)).toBe("small");
    expect(mainBody({ intake: { role: "intake_pool" } }, () => 0)).toBe("intake");
    expect(mainBody({}, () => 0)).toBeNull();
  });

  test("marks the row next to the balanced level, and none far from all", () => {
    const rows = levelRows(field);

    expect(rowNearest(rows, 10.12)).toBe(1);
    expect(rowNearest(rows, 10.6)).toBe(-1);
    expect(rowNearest(rows, undefined)).toBe(-1);
  });
});

describe("the ground in the round", () => {
  const grid = { origin_east: 10, origin_north: 20, spacing: 2, columns: 5, rows: 4 };
  const heights = Array.from({ length: 4 }, (_, row) => Array.from({ length: 5 }, (_, column) => 100 + row + column / 10));
  const surface = { field: { ...fieldOf(heights), scale: 1, zero: 0 }, grid };

  test("has no more nodes on a side than asked for", () => {
    expect(strideFor({ columns: 300, rows: 200 }, 100)).toBe(4);
    expect(strideFor({ columns: 80, rows: 60 }, 100)).toBe(1);
  });

  test("keeps its last row and column when it is thinned", () => {
    const terrain = terrainOf(surface, 3, [10, 20, 100]);

    expect([terrain.columns, terrain.rows]).toEqual([3, 3]);
    expect([...terrain.positions.slice(-3)]).toEqual([8, 6, expect.closeTo(3.4, 5)]);
  });

  test("is covered by triangles that all face up", () => {
    const { positions, triangles } = terrainOf(surface, 100, [10, 20, 100]);
    const corner = (at: number) => [positions[3 * at] as number, positions[3 * at + 1] as number] as const;
    let area = 0;
    for (let at = 0; at < triangles.length; at += 3) {
      const [a, b, c] = [0, 1, 2].map((k) => corner(triangles[at + k] as number)) as [[number, number], [number, number], [number, number]];
      const twice = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]);
      expect(twice).toBeGreaterThan(0);
      area += twice / 2;
    }

    expect(area).toBeCloseTo(8 * 6);
  });

  test("tells its reach and the height next to a place", () => {
    const [low, high] = reachOf(surface);

    expect(low).toBeCloseTo(100);
    expect(high).toBeCloseTo(103.4);
    expect(heightNear(surface, 12.1, 25.7)).toBeCloseTo(103.1);
  });

  test("has a net with its border", () => {
    expect(netOf({ columns: 2, rows: 2 }, 5)).toEqual(Uint32Array.from([0, 1, 0, 2, 1, 3, 2, 3]));
  });

  test("is looked at from the south, turned by keys, never from below", () => {
    const [, north, up] = offsetOf({ turn: 0, tilt: 0.5, distance: 1 }, 100);

    expect(north).toBeLessThan(0);
    expect(up).toBeGreaterThan(0);
    expect(turnedByKey(FROM_SOUTH, "ArrowLeft")?.turn).toBeLessThan(FROM_SOUTH.turn);
    expect(turnedByKey(FROM_SOUTH, "a")).toBeNull();
    expect(turned(FROM_SOUTH, 0, -9).tilt).toBeGreaterThan(0);
    expect(nearer(FROM_SOUTH, 1e6).distance).toBeGreaterThan(0);
  });
});
