import { describe, expect, test } from "vitest";
import type { Job } from "../../src/api/types";
import { Choose } from "../../src/plan/gestures/choose";
import { kindOps } from "../../src/plan/built";
import { DrawMound, DrawStream, DrawWay, PutFall, PutSeat, building } from "../../src/plan/gestures/draw-built";
import { insertOps } from "../../src/plan/rings";
import { atStation, barOf, changeFallOps, fallsOf, stationNear, streamLine, widthOps } from "../../src/plan/streams";
import { type Json, applyOps } from "../../src/state/ops";
import { FakeHand, pegs, smallJob } from "./fake-hand";

const FIRST = building.value;

/** The small job with a stream of 20 m north of the pond, straight east, 1 m wide at its head and 3 m at its mouth. */
function withStream(steps: readonly { readonly distance: number; readonly drop: number }[] = [{ distance: 5, drop: 0.4 }]): Job {
  const job = smallJob();
  const outline = { form: "corridor", curve: pegs([0, 30], [10, 30], [20, 30]), widths: [1, 2, 3], steps } as const;
  return { ...job, shape: { ...job.shape, bodies: { ...job.shape.bodies, brook: { role: "stream", outline } } } };
}

const lineIn = (job: Job) => {
  const line = streamLine(job, "brook");
  if (!line) throw new Error("no stream");
  return line;
};
const stepsOf = (job: Job) => lineIn(job).outline.steps ?? [];

describe("a stream", () => {
  test("has stations, a direction and a width between its pegs", () => {
    const line = lineIn(withStream());

    expect(line.length).toBeCloseTo(20, 9);
    expect(stationNear(line, [13, 31.5])).toEqual({ station: expect.closeTo(13, 9) as number, distance: expect.closeTo(1.5, 9) as number });
    expect(atStation(line, 5).point[0]).toBeCloseTo(5, 9);
    expect(atStation(line, 0).width).toBe(1);
    expect(atStation(line, 20).width).toBe(3);
    expect(atStation(line, 99).point).toEqual([20, 30]);
  });

  test("draws a fall as a bar from bank to bank, square to the water", () => {
    const [fall] = fallsOf(lineIn(withStream([{ distance: 10, drop: 0.4 }])));
    const [left, right] = barOf(fall as NonNullable<typeof fall>);

    expect(left).toEqual([expect.closeTo(10, 6), expect.closeTo(31, 6)]);
    expect(right).toEqual([expect.closeTo(10, 6), expect.closeTo(29, 6)]);
  });

  test("keeps its falls in order: none passes its neighbour or the ends", () => {
    const job = withStream([{ distance: 5, drop: 0.4 }, { distance: 12, drop: 0.2 }]);
    const moved = (at: number, distance: number): number[] => {
      const next = applyOps(job as unknown as Json, changeFallOps(lineIn(job), at, { distance })) as unknown as Job;
      return stepsOf(next).map((step) => step.distance);
    };

    expect(moved(0, 30)).toEqual([11.95, 12]);
    expect(moved(1, 0)).toEqual([5, 5.05]);
    expect(moved(1, 99)[1]).toBeCloseTo(19.95, 9);
    expect(moved(0, -3)).toEqual([0.05, 12]);
  });

  test("gets a width at one peg or at all, and with a peg put in", () => {
    const job = withStream();
    const line = lineIn(job);
    const one = applyOps(job as unknown as Json, widthOps(line, 1, 2.5)) as unknown as Job;
    const all = applyOps(job as unknown as Json, widthOps(line, null, 1.5)) as unknown as Job;
    const put = applyOps(job as unknown as Json, insertOps(job, { body: "brook", ring: "outer" }, 0, pegs([0, 30], [5, 30], [10, 30], [20, 30]))) as unknown as Job;

    expect(lineIn(one).outline.widths).toEqual([1, 2.5, 3]);
    expect(lineIn(all).outline.widths).toEqual([1.5, 1.5, 1.5]);
    expect(lineIn(put).outline.widths).toHaveLength(4);
  });
});

describe("drawing", () => {
  test("a stream runs through its pegs with one width, shown from the second press on", () => {
    building.value = { ...FIRST, streamWidth: 0.8 };
    const hand = new FakeHand(new DrawStream());
    hand.tap([50, 50]);
    const early = hand.preview;
    hand.tap([55, 52]);
    const shown = hand.preview;
    hand.press("Enter");
    building.value = FIRST;

    expect(early).toBeNull();
    expect(shown).toHaveLength(1);
    expect(hand.job.shape.bodies?.["stream_1"]).toMatchObject({ role: "stream", outline: { form: "corridor", widths: [0.8, 0.8] } });
    expect(hand.selection).toMatchObject({ kind: "peg", id: "p1", body: "stream_1" });
    expect(hand.labels).toEqual(["draw stream 1"]);
  });

  test("a fall goes where the stream is pressed, in the order of the water, and nowhere else", () => {
    const hand = new FakeHand(new PutFall(), withStream());
    hand.tap([40, 50]);
    const dry = hand.says;
    hand.tap([2, 30.3]);

    expect(dry).toContain("stream");
    expect(stepsOf(hand.job).map(({ distance }) => Number(distance.toFixed(6)))).toEqual([2, 5]);
    expect(hand.selection).toMatchObject({ kind: "fall", body: "brook", at: 0 });
  });

  test("a seat stands where it is pressed, and is chosen", () => {
    const hand = new FakeHand(new PutSeat());
    hand.tap([60, 60]);

    expect(hand.job.shape.seats).toEqual({ seat_1: { kind: "seat", place: { at: "point", east: 60, north: 60 } } });
    expect(hand.selection).toMatchObject({ kind: "seat", id: "seat_1" });
  });

  test("a way is a line with the width of its kind, a deck an area with corners, a mound a smooth ring", () => {
    const drawn = (way: "path" | "deck"): Job => {
      building.value = { ...FIRST, way };
      const hand = new FakeHand(new DrawWay());
      for (const place of [[50, 50], [55, 50], [55, 53]] as const) hand.tap(place);
      hand.press("Enter");
      building.value = FIRST;
      return hand.job;
    };
    const mound = new FakeHand(new DrawMound());
    for (const place of [[60, 50], [65, 50], [62, 55]] as const) mound.tap(place);
    mound.press("Enter");

    expect(drawn("path").shape.ways?.["path_1"]).toMatchObject({ kind: "path", width: 1.2, place: { at: "line" } });
    const deck = drawn("deck").shape.ways?.["deck_1"];
    expect(deck?.width).toBeUndefined();
    expect(deck?.place).toMatchObject({ at: "ring", curve: { pegs: [{ corner: true }, { corner: true }, { corner: true }] } });
    expect(mound.job.shape.mounds?.["mound_1"]).toMatchObject({ height: 0.6, place: { at: "ring" } });
  });
});

describe("fences and lights", () => {
  const drawn = (way: "fence" | "light", places: readonly (readonly [number, number])[]): Job => {
    building.value = { ...FIRST, way };
    const hand = new FakeHand(new DrawWay());
    for (const place of places) hand.tap(place);
    building.value = FIRST;
    return hand.job;
  };

  test("a fence is closed by a press on its first place, and is a line that comes back", () => {
    const fence = drawn("fence", [[50, 50], [55, 50], [55, 53], [50, 50]]).shape.ways?.["fence_1"];

    expect(fence).toEqual({ kind: "fence", place: { at: "line", points: [{ east: 50, north: 50 }, { east: 55, north: 50 }, { east: 55, north: 53 }, { east: 50, north: 50 }] } });
  });

  test("a light stands where it is pressed, at once", () => {
    expect(drawn("light", [[50, 50]]).shape.ways).toEqual({ light_1: { kind: "light", place: { at: "point", east: 50, north: 50 } } });
  });

  test("a way of another kind loses what only the old one had", () => {
    const place = { at: "line", points: [{ east: 0, north: 0 }, { east: 9, north: 0 }] } as const;
    const ops = kindOps("fence_1", { kind: "fence", place, height: 1.5, open_share: 0.6, gates: [{ distance: 3 }] }, "wall");

    expect(ops.map(({ op, path }) => `${op} ${path.split("/").at(-1)}`)).toEqual(["remove open_share", "remove gates", "replace kind"]);
  });
});

describe("the hand that chooses", () => {
  const way = { kind: "path", place: { at: "line", points: [{ east: 50, north: 40 }, { east: 60, north: 40 }] } } as const;
  const withBuilt = (): Job => {
    const job = withStream();
    return { ...job, shape: { ...job.shape, ways: { path_1: way }, seats: { seat_1: { place: { at: "point", east: 70, north: 40 } } } } };
  };
  const wayPoints = (hand: FakeHand) => {
    const place = hand.job.shape.ways?.["path_1"]?.place;
    return place?.at === "line" ? place.points.map(({ east, north }) => [east, north]) : [];
  };

  test("chooses a way by its line, then drags its points and puts one in by a press", () => {
    const hand = new FakeHand(new Choose(() => 0), withBuilt());
    hand.tap([53, 40.1]);
    const chosen = hand.selection;
    hand.drag([60, 40], [62, 44]);
    hand.tap([56, 42]);
    hand.drag([56, 42], [55, 46]);

    expect(chosen).toEqual({ kind: "way", id: "path_1" });
    expect(wayPoints(hand)).toEqual([[50, 40], [55, 46], [62, 44]]);
    expect(hand.labels).toHaveLength(3);
  });

  test("drags the chosen way whole by its line, and a mound from inside, one edit each", () => {
    const job = withBuilt();
    const mound = { height: 0.6, place: { at: "ring", curve: pegs([80, 40], [90, 40], [90, 50], [80, 50]) } } as const;
    const hand = new FakeHand(new Choose(() => 0), { ...job, shape: { ...job.shape, mounds: { mound_1: mound } } });
    const corners = () => {
      const place = hand.job.shape.mounds?.["mound_1"]?.place;
      return place?.at === "ring" ? place.curve.pegs.map(({ east, north }) => [east, north]) : [];
    };
    hand.tap([53, 40.1]);
    hand.drag([55, 40], [56.5, 42]);
    const points = wayPoints(hand);
    hand.tap([85, 45]);
    const chosen = hand.selection;
    hand.drag([86, 46], [84, 47]);

    expect(points).toEqual([[51.5, 42], [61.5, 42]]);
    expect(chosen).toEqual({ kind: "mound", id: "mound_1" });
    expect(corners()).toEqual([[78, 41], [88, 41], [88, 51], [78, 51]]);
    expect(hand.labels).toEqual(["move path 1", "move mound 1"]);

    hand.drag([80, 60], [82, 62]);

    expect(hand.labels).toHaveLength(2);
  });

  test("moves what is chosen whole by the arrow keys too, and puts it back on Escape", () => {
    const hand = new FakeHand(new Choose(() => 0), withBuilt());
    hand.tap([53, 40.1]);
    hand.press("ArrowUp");
    const nudged = wayPoints(hand);
    hand.feed("down", [55, 40.1]);
    hand.feed("drag", [55, 45]);
    hand.escape();
    hand.feed("up", [55, 45]);

    expect(nudged).toEqual([[50, 40.1], [60, 40.1]]);
    expect(wayPoints(hand)).toEqual(nudged);
    expect(hand.labels).toEqual(["move path 1"]);
  });

  test("a finger takes hold of the chosen way whole, and pans beside it", () => {
    const hand = new FakeHand(new Choose(() => 0), withBuilt());
    hand.feed("down", [54, 40], { coarse: true });
    const before = hand.holds;
    hand.feed("up", [54, 40], { coarse: true });
    hand.feed("down", [54, 40], { coarse: true });
    hand.feed("drag", [54, 43], { coarse: true });
    hand.feed("up", [54, 43], { coarse: true });

    expect(before).toBe(false);
    expect(wayPoints(hand)).toEqual([[50, 43], [60, 43]]);
  });

  test("leaves a way that is not chosen to lie under a drag of the plan", () => {
    const hand = new FakeHand(new Choose(() => 0), withBuilt());
    hand.drag([55, 40], [55, 46]);

    expect(hand.labels).toEqual([]);
  });

  test("moves a seat by drag, by press and by keys, one edit each, and takes it out", () => {
    const hand = new FakeHand(new Choose(() => 0), withBuilt());
    const where = () => hand.job.shape.seats?.["seat_1"]?.place;
    hand.drag([70, 40], [72, 41]);
    const dragged = where();
    hand.tap([72, 41]);
    hand.tap([75, 45]);
    const pressed = where();
    hand.press("ArrowRight");

    expect(dragged).toMatchObject({ east: 72, north: 41 });
    expect(pressed).toMatchObject({ east: 75, north: 45 });
    expect(where()).toMatchObject({ east: expect.closeTo(75.1, 9) as number, north: 45 });
    expect(hand.labels).toHaveLength(3);

    hand.press("Delete");

    expect(hand.job.shape.seats).toEqual({});
  });

  test("drags a fall along its stream, never off it", () => {
    const hand = new FakeHand(new Choose(() => 0), withStream());
    hand.drag([5, 30], [9, 33]);

    expect(stepsOf(hand.job)[0]?.distance).toBeCloseTo(9, 6);
    expect(hand.labels).toEqual(["move fall 1"]);

    hand.press("Delete");

    expect(stepsOf(hand.job)).toEqual([]);
  });

  test("drags a low spot, and goes from point to point by keys", () => {
    const job = withBuilt();
    const pond = { ...job.shape.bodies?.["pond"], low_spot: { east: 5, north: 5 } } as NonNullable<Job["shape"]["bodies"]>[string];
    const hand = new FakeHand(new Choose(() => 0), { ...job, shape: { ...job.shape, bodies: { ...job.shape.bodies, pond } } });
    hand.drag([5, 5], [6, 4]);
    hand.selection = { kind: "way", id: "path_1" };
    hand.press("n");
    hand.press("n");

    expect(hand.job.shape.bodies?.["pond"]?.low_spot).toEqual({ east: 6, north: 4 });
    expect(hand.selection).toMatchObject({ kind: "way", at: 1 });
  });
});
