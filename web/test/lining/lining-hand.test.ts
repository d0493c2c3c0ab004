import { beforeEach, describe, expect, test, vi } from "vitest";

vi.hoisted(() => {
  globalThis.localStorage = { getItem: () => null, setItem: () => undefined } as unknown as Storage;
});

import type { Job } from "../../src/api/types";
import { Choose } from "../../src/plan/gestures/choose";
import { DrawGuard, DrawTape, guardInHand } from "../../src/plan/gestures/draw-lining";
import { PutDown } from "../../src/plan/gestures/place";
import { linedShown } from "../../src/state/liner-shown";
import { FakeHand, smallJob } from "../plan/fake-hand";

linedShown.value = true;

const job: Job = {
  ...smallJob(),
  lining: {
    penetrations: { drain: { name: "Drain", place: { at: "point", east: -30, north: 30 }, diameter: 0.11 } },
    tapes: { long: { place: { at: "line", points: [{ east: -40, north: -40 }, { east: -20, north: -40 }] } } },
  },
};

describe("a line to tape", () => {
  test("is drawn press by press, one edit, and chosen so that its length can be typed", () => {
    const hand = new FakeHand(new DrawTape(), job);
    for (const place of [[-40, 5], [-40, 25]] as const) hand.tap(place);
    hand.press("Enter");

    expect(hand.job.lining?.tapes?.["tape_1"]).toEqual({ place: { at: "line", points: [{ east: -40, north: 5 }, { east: -40, north: 25 }] } });
    expect(hand.selection).toEqual({ kind: "tape", id: "tape_1" });
    expect(hand.labels).toHaveLength(1);
  });

  test("tells how long it is on the plan, and that over the ground it is longer", () => {
    const hand = new FakeHand(new DrawTape(), job);
    for (const place of [[-40, 5], [-40, 25]] as const) hand.tap(place);

    expect(hand.says).toContain("20.00 m");
    expect(hand.says).toContain("longer");
  });

  test("gets a point where its line is pressed, once it is chosen", () => {
    const hand = new FakeHand(new Choose(() => 0), job);
    hand.tap([-33, -40]);
    expect(hand.selection).toEqual({ kind: "tape", id: "long" });
    hand.tap([-30, -40]);

    expect(hand.job.lining?.tapes?.["long"]?.place.points.map(({ east }) => east)).toEqual([-40, -30, -20]);
  });
});

describe("a guard", () => {
  beforeEach(() => void (guardInHand.value = { kind: "burrow", depth: 0.9 }));

  test("is what the box says, along the line that was drawn", () => {
    const hand = new FakeHand(new DrawGuard(), job);
    for (const place of [[-40, 50], [-20, 50], [-20, 50]] as const) hand.tap(place);

    expect(hand.job.lining?.guards?.["guard_1"]).toEqual({ kind: "burrow", depth: 0.9, place: { at: "line", points: [{ east: -40, north: 50 }, { east: -20, north: 50 }] } });
  });
});

describe("a pipe through the liner", () => {
  test("waits for its box, because nobody knows how thick it is", () => {
    const hand = new FakeHand(new PutDown("penetration"), job);
    hand.tap([-35, 0]);

    expect(hand.labels).toEqual([]);
    expect(Object.keys(hand.job.lining?.penetrations ?? {})).toEqual(["drain"]);
  });

  test("is pressed before it is dragged, and taken out with a key", () => {
    const hand = new FakeHand(new Choose(() => 0), job);
    hand.drag([-30, 30], [-25, 35]);
    expect(hand.labels).toEqual([]);

    hand.tap([-30, 30]);
    hand.drag([-30, 30], [-25, 35]);
    expect(hand.job.lining?.penetrations?.["drain"]?.place).toEqual({ at: "point", east: -25, north: 35 });

    hand.press("Delete");
    expect(hand.job.lining?.penetrations).toEqual({});
  });
});
