import { describe, expect, test } from "vitest";
import type { Tie } from "../../src/api/types";
import type { SitePoint } from "../../src/geometry/types";
import { barOf, barText } from "../../src/plan/furniture";
import { laidOver, misses, onPhoto, onSite, placingOf } from "../../src/plan/photo";
import { areaOf, bearing, beside, crossings, isInside, nearestOnLine } from "../../src/plan/plane";
import { removeOps, ringOf, stretchPoints } from "../../src/plan/rings";
import { contoursOf, type Kept } from "../../src/plan/fields";
import { smallJob } from "./fake-hand";

const SQUARE: readonly SitePoint[] = [[0, 0], [4, 0], [4, 4], [0, 4]];

const circle = (radius: number): SitePoint[] =>
  Array.from({ length: 120 }, (_, at) => [radius * Math.cos((at * Math.PI) / 60), radius * Math.sin((at * Math.PI) / 60)] as const);

describe("plane geometry", () => {
  test("a square has no crossing, a bow tie has one at its middle", () => {
    expect(crossings(SQUARE, true)).toEqual([]);
    expect(crossings([[0, 0], [4, 4], [4, 0], [0, 4]], true)).toEqual([[2, 2]]);
  });

  test("area, bearing, inside", () => {
    expect(areaOf(SQUARE)).toBe(16);
    expect(bearing([0, 0], [-1, 0])).toBeCloseTo((3 * Math.PI) / 2, 12);
    expect(isInside(SQUARE, [1, 3])).toBe(true);
    expect(isInside(SQUARE, [5, 3])).toBe(false);
  });

  test("nearest place on a line is at its end when the foot lies beyond it", () => {
    expect(nearestOnLine([[0, 0], [10, 0]], [12, 5])?.point).toEqual([10, 0]);
  });

  test("a line beside a circle is a circle of the radius less the distance", () => {
    const [line = []] = beside(circle(10), 3, []);

    expect(line).toHaveLength(121);
    for (const [east, north] of line) expect(Math.hypot(east, north)).toBeCloseTo(7, 2);
  });

  test("lines beside a narrow end where they would run into one another", () => {
    const narrow: readonly SitePoint[] = Array.from({ length: 80 }, (_, at) => {
      const share = at / 40;
      return at < 40 ? ([share * 20, 0] as const) : ([40 - share * 20, 1] as const);
    });

    expect(beside(narrow, 0.6, [])).toEqual([]);
  });
});

describe("laying a photo", () => {
  const tie = (across: number, down: number, [east, north]: SitePoint): Tie => ({ across, down, east, north });

  test("two ties turn, stretch and shift it: both lie exactly, and the picture is not mirrored", () => {
    const ties = [tie(100, 200, [10, 20]), tie(300, 50, [40, 60])];
    const placing = placingOf(ties);

    expect(placing && Math.max(...misses(placing, ties))).toBeLessThan(1e-9);
    expect(placing && placing.a * placing.d - placing.b * placing.c).toBeLessThan(0);
  });

  test("three ties also shear it and lie exactly, a fourth shows how far it is off", () => {
    const three = [tie(0, 0, [0, 10]), tie(100, 0, [12, 10]), tie(0, 100, [3, 0])];
    const exact = placingOf(three);
    const four = [...three, tie(100, 100, [15, 0.4])];
    const fitted = placingOf(four);

    expect(exact && Math.max(...misses(exact, three))).toBeLessThan(1e-9);
    expect(fitted && Math.max(...misses(fitted, four))).toBeCloseTo(0.1, 6);
  });

  test("one tie, or ties on one line, settle nothing", () => {
    expect(placingOf([tie(0, 0, [0, 0])])).toBeNull();
    expect(placingOf([tie(0, 0, [0, 0]), tie(1, 1, [1, 1]), tie(2, 2, [2, 2])])).toBeNull();
  });

  test("a place on site goes back to the same pixel", () => {
    const placing = laidOver(800, 600, [50, 50], 40);
    const [across, down] = onPhoto(placing, onSite(placing, [123, 456]));

    expect(across).toBeCloseTo(123, 9);
    expect(down).toBeCloseTo(456, 9);
  });
});

describe("scale bar", () => {
  test("is round in the units shown and fits", () => {
    expect(barOf(0.05, "metric")).toEqual({ length: 5, px: 100 });
    expect(barOf(0.05, "us").length / 0.3048).toBeCloseTo(20, 9);
    expect(barText(5, "metric")).toBe("5 m");
    expect(barText(0.2, "metric")).toBe("0.2 m");
    expect(barText(20 * 0.3048, "us_inch")).toBe("20 ft");
  });

  test.each([0.002, 0.013, 0.1, 0.77, 5])("at %d m a pixel it is between 70 and 180 px", (resolution) => {
    const { px } = barOf(resolution, "us");

    expect(px).toBeGreaterThan(70);
    expect(px).toBeLessThanOrEqual(180 + 1e-9);
  });
});

describe("rings of a job", () => {
  test("a stretch runs from its first peg to its last along the shore", () => {
    const ring = ringOf(smallJob(), { body: "pond", ring: "outer" });
    const line = ring ? stretchPoints(ring, { start: "p3", end: "p1" }) : [];

    expect(line[0]).toEqual([20, 20]);
    expect(line.at(-1)).toEqual([0, 0]);
    expect(line).toHaveLength(25);
  });

  test("the stretch that ends at a peg taken out ends at the peg before it", () => {
    const job = smallJob();
    const pond = { ...job.shape.bodies?.["pond"], stretches: { wading: { start: "p1", end: "p3", bank_type: "beach" } } };
    const longer = { ...job, shape: { ...job.shape, bodies: { pond } } } as typeof job;

    expect(removeOps(longer, { body: "pond", ring: "outer" }, "p3")?.[0]).toEqual({
      op: "replace",
      path: "/shape/bodies/pond/stretches/wading",
      value: { start: "p1", end: "p2", bank_type: "beach" },
    });
  });
});

test("contours come out of the frame with their index lines", () => {
  const kept = (name: string, data: Float32Array | Int32Array, more = {}): Kept => ({
    field: { data, shape: [data.length], scale: 1, zero: 0, columns: [] } as unknown as Kept["field"],
    head: { name, dtype: "float32", shape: [data.length], offset: 0, ...more },
    grid: null,
  });
  const points = kept("contours_new_points", new Float32Array([0, 0, 1, 0, 5, 5, 6, 5, 7, 5]), { interval: 0.25, every: 4 });
  const starts = kept("contours_new_starts", new Int32Array([0, 2, 5]));
  const levels = kept("contours_new_levels", new Float32Array([99.75, 100]));

  const lines = contoursOf(points, starts, levels);

  expect(lines.map((one) => [one.level, one.isIndex, one.line.length])).toEqual([[99.75, false, 2], [100, true, 3]]);
});
