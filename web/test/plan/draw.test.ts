import { describe, expect, test } from "vitest";
import { BankFromHere } from "../../src/plan/gestures/bank";
import { DrawBoundary, DrawBreakline, DrawSection, Measure } from "../../src/plan/gestures/draw-lines";
import { DrawIsland, DrawShoreline } from "../../src/plan/gestures/draw-shore";
import { PutDown } from "../../src/plan/gestures/place";
import { TiePhoto } from "../../src/plan/gestures/tie";
import { FakeHand, smallJob } from "./fake-hand";

describe("drawing a shoreline", () => {
  test("each press is a peg, numbers follow from the third on, and Enter closes it", () => {
    const job = { ...smallJob(), shape: {} };
    const hand = new FakeHand(new DrawShoreline(), job);
    hand.tap([0, 0]);
    hand.tap([10, 0]);
    const early = hand.preview;
    hand.tap([5, 10]);
    const shown = hand.preview;
    hand.tap([0, 12]);
    hand.press("Enter");

    expect(early).toBeNull();
    expect(shown).toHaveLength(1);
    expect(hand.curve().pegs.map((peg) => [peg.east, peg.north])).toEqual([[0, 0], [10, 0], [5, 10], [0, 12]]);
    expect(hand.labels).toEqual(["draw pond"]);
    expect(hand.last.done ?? hand.answers.at(-2)?.done).toBe(true);
  });

  test("a press on the first peg closes it, and a second body gets a name of its own", () => {
    const hand = new FakeHand(new DrawShoreline());
    for (const place of [[50, 0], [60, 0], [55, 10], [50, 0.2]] as const) hand.tap(place);

    expect(Object.keys(hand.job.shape.bodies ?? {})).toEqual(["pond", "pond_2"]);
    expect(hand.job.shape.bodies?.["pond_2"]?.outline.curve.pegs).toHaveLength(3);
  });

  test("Backspace takes the last peg back and Escape drops all", () => {
    const hand = new FakeHand(new DrawShoreline());
    for (const place of [[50, 0], [60, 0], [55, 10]] as const) hand.tap(place);
    hand.press("Backspace");

    expect(hand.preview).toBeNull();

    hand.escape();
    hand.press("Enter");

    expect(hand.labels).toEqual([]);
    expect(hand.says).toContain("3");
  });
});

describe("drawing an island", () => {
  test("goes into the water that its first press is in", () => {
    const hand = new FakeHand(new DrawIsland());
    for (const place of [[3, 3], [5, 3], [4, 5]] as const) hand.tap(place);
    hand.press("Enter");

    expect(Object.keys(hand.job.shape.bodies?.["pond"]?.islands ?? {})).toEqual(["isle", "island_1"]);
  });

  test("says so when the first press is on land", () => {
    const hand = new FakeHand(new DrawIsland());
    hand.tap([60, 60]);

    expect(hand.says).toContain("inside a shoreline");
  });
});

describe("other lines", () => {
  test("a section is shown as soon as it has two places", () => {
    const hand = new FakeHand(new DrawSection());
    hand.tap([0, 40]);
    hand.tap([10, 40]);
    const section = hand.last.section;
    hand.press("Enter");

    expect(section).toEqual([[0, 40], [10, 40]]);
    expect(hand.labels).toEqual([]);
  });

  test("measuring tells distance, bearing and area and changes nothing", () => {
    const hand = new FakeHand(new Measure());
    hand.tap([100, 100]);
    hand.tap([103, 104]);
    const leg = hand.says;
    hand.tap([100, 104]);
    const whole = hand.says;

    expect(leg).toContain("5.00 m");
    expect(leg).toContain("36.9°");
    expect(whole).toContain("8.00 m");
    expect(whole).toContain("6.0 m²");
    expect(hand.job).toEqual(smallJob());
  });

  test("a break line goes through the shots that are pressed, and ends at a second press on the last", () => {
    const hand = new FakeHand(new DrawBreakline());
    hand.tap([30, 10]);
    hand.tap([50, 50]);
    hand.tap([34, 14]);
    hand.tap([38, 10]);
    hand.tap([38, 10]);

    expect(hand.job.site.lines).toEqual({ break_1: { kind: "break", shots: ["s1", "s2", "s3"] } });
  });

  test("a line on site waits in the box for its kind", () => {
    const hand = new FakeHand(new DrawBoundary());
    hand.tap([0, 50]);
    hand.tap([10, 50]);
    hand.press("Enter");
    const draft = hand.answers.findLast((answer) => answer.draft)?.draft;

    expect(draft?.line).toEqual([[0, 50], [10, 50]]);
    expect(hand.labels).toEqual([]);
  });
});

describe("places and stretches", () => {
  test("a shot is put where the press is, or on what lies there", () => {
    const hand = new FakeHand(new PutDown("shot"));
    hand.tap([60, 60]);
    const free = hand.last.draft?.point;
    hand.tap([-20.1, -19.9]);

    expect(free).toEqual([60, 60]);
    expect(hand.last.draft?.point?.[1]).toBeCloseTo(-20, 9);
    expect(hand.says).toContain("fence");
  });

  test("a bank type goes from peg to peg of one ring", () => {
    const hand = new FakeHand(new BankFromHere());
    hand.tap([20, 0]);
    hand.tap([20, 20]);
    const draft = hand.last.draft;
    hand.tap([8, 8]);

    expect(draft?.stretch).toEqual({ body: "pond", ring: "outer", start: "p2", end: "p3" });
    expect(hand.last.draft?.stretch).toEqual({ body: "pond", ring: "isle", start: "p1" });
  });

  test("a photo is tied by a place on it and the place where it lies", () => {
    const hand = new FakeHand(new TiePhoto());
    hand.tap([61, 62]);
    hand.tap([30.1, 10.1]);

    expect(hand.last.draft?.tie).toEqual({ from: [61, 62], to: [30, 10] });
  });
});
