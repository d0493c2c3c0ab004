import { beforeAll, beforeEach, describe, expect, test, vi } from "vitest";

vi.hoisted(() => {
  globalThis.localStorage = { getItem: () => null, setItem: () => undefined } as unknown as Storage;
});

import type { Job } from "../../src/api/types";
import { Choose } from "../../src/plan/gestures/choose";
import { DrawDrain, DrawReading, readingKind } from "../../src/plan/gestures/draw-water";
import { FakeHand, smallJob } from "../plan/fake-hand";

const job: Job = {
  ...smallJob(),
  groundwater: {
    readings: { sp1: { kind: "standpipe", name: "Standpipe", place: { at: "point", east: -30, north: 30 }, wet: 99 } },
    drains: { relief: { place: { at: "line", points: [{ east: -40, north: -40 }, { east: -30, north: -40 }, { east: -20, north: -40 }] }, inverts: [98, 97.6, 97], into: "culvert" } },
    outlets: { culvert: { place: { at: "point", east: -20, north: -40 }, invert: 97 } },
  },
};
const choosing = (): FakeHand => new FakeHand(new Choose(() => 0), job);

describe("putting a reading", () => {
  beforeEach(() => void (readingKind.value = "standpipe"));

  test("one press is a standpipe, one edit, and it is chosen so that its levels can be typed", () => {
    const hand = new FakeHand(new DrawReading());
    hand.tap([-33, 31]);

    expect(hand.job.groundwater?.readings).toEqual({ standpipe_1: { kind: "standpipe", place: { at: "point", east: -33, north: 31 }, status: "existing" } });
    expect(hand.selection).toEqual({ kind: "reading", id: "standpipe_1" });
    expect(hand.labels).toHaveLength(1);
  });

  test("a ditch is a line, and a pond a ring, though the kind is chosen while the hand is out", () => {
    const ditch = new FakeHand(new DrawReading(), job);
    readingKind.value = "ditch";
    for (const place of [[-40, 0], [-40, 10], [-40, 10]] as const) ditch.tap(place);
    readingKind.value = "pond";
    const pond = new FakeHand(new DrawReading(), job);
    for (const place of [[50, 50], [60, 50], [60, 60], [50, 50]] as const) pond.tap(place);

    expect(ditch.job.groundwater?.readings?.["ditch_1"]?.place).toEqual({ at: "line", points: [{ east: -40, north: 0 }, { east: -40, north: 10 }] });
    expect(pond.job.groundwater?.readings?.["pond_1"]?.place.at).toBe("ring");
  });
});

describe("drawing a drain", () => {
  test("one that ends on an outlet runs into it", () => {
    const hand = new FakeHand(new DrawDrain(), job);
    for (const place of [[-20, -20], [-19.8, -39.9]] as const) hand.tap(place);
    hand.press("Enter");

    expect(hand.job.groundwater?.drains?.["drain_1"]).toEqual({ place: { at: "line", points: [{ east: -20, north: -20 }, { east: -20, north: -40 }] }, into: "culvert" });
    expect(hand.says).toContain("culvert");
  });

  test("one that ends on another drain runs into that, and one that ends nowhere says so", () => {
    const hand = new FakeHand(new DrawDrain(), job);
    for (const place of [[-35, -20], [-35, -39.9]] as const) hand.tap(place);
    hand.press("Enter");
    const free = new FakeHand(new DrawDrain(), job);
    for (const place of [[70, 70], [80, 70]] as const) free.tap(place);
    free.press("Enter");

    expect(hand.job.groundwater?.drains?.["drain_1"]?.into).toBe("relief");
    expect(free.job.groundwater?.drains?.["drain_1"]?.into).toBeUndefined();
    expect(free.says).toContain("runs into");
  });
});

describe("moving what is there", () => {
  test("a standpipe is pressed before it is dragged, so that nobody moves it by accident", () => {
    const hand = choosing();
    hand.drag([-30, 30], [-25, 35]);
    expect(hand.labels).toEqual([]);

    hand.tap([-30, 30]);
    expect(hand.selection).toEqual({ kind: "reading", id: "sp1" });
    hand.drag([-30, 30], [-25, 35]);
    expect(hand.job.groundwater?.readings?.["sp1"]?.place).toEqual({ at: "point", east: -25, north: 35 });
  });

  test("a point put into a drain has a bottom on its fall, and one taken out takes its bottom along", () => {
    const hand = choosing();
    hand.tap([-33, -40]);
    hand.tap([-35, -40]);

    expect(hand.job.groundwater?.drains?.["relief"]?.inverts?.map((invert) => Number(invert.toFixed(6)))).toEqual([98, 97.8, 97.6, 97]);
    expect(hand.job.groundwater?.drains?.["relief"]?.place.points[1]).toEqual({ east: -35, north: -40 });

    hand.press("Delete");
    expect(hand.job.groundwater?.drains?.["relief"]?.inverts).toEqual([98, 97.6, 97]);
  });
});

describe("the page", () => {
  beforeAll(() => vi.stubGlobal("localStorage", { getItem: () => null, setItem: () => undefined }));

  test("says lifts, little in hand or holds by the likely weight, and never holds where the low one lifts", async () => {
    const { verdictOf } = await import("../../src/panels/water-parts");

    expect(verdictOf(0.9, 0.95, 1.3)).toBe("lifts");
    expect(verdictOf(0.9, 1.5, 1.3)).toBe("little");
    expect(verdictOf(1.1, 1.2, 1.3)).toBe("little");
    expect(verdictOf(1.3, 1.4, 1.3)).toBe("holds");
    expect(verdictOf(null, null, 1.3)).toBe("holds");
  });

  test("reads the stages of a body from the figures, and holds them against the job's own limits", async () => {
    const { stageRows } = await import("../../src/panels/water-parts");
    const stem = "groundwater.range.bodies.pond.cases.wet_none.stages";
    const figures = { [`${stem}.full.excess_likely`]: 0.1, [`${stem}.full.net_low`]: 1.25, [`${stem}.full.net_likely`]: 1.28, [`${stem}.full.net_high`]: 1.3, [`${stem}.empty.excess_likely`]: -0.2 };
    const strict = stageRows(job, figures, "pond", "wet", "none");
    const lax = stageRows({ ...job, rules: { "groundwater.uplift_in_use": { limit: 1.2, reason: "agreed", by: "Engineer" } } }, figures, "pond", "wet", "none");

    expect(strict.map(({ stage, verdict }) => [stage, verdict])).toEqual([["full", "little"], ["empty", "holds"]]);
    expect(lax[0]?.verdict).toBe("holds");
    expect(strict[1]).toMatchObject({ low: null, likely: null, high: null });
    expect(stageRows(job, {}, "pond", "wet", "none")).toEqual([]);
  });

  test("tells a time as a crew plans it", async () => {
    const { duration } = await import("../../src/panels/water-building");

    expect([duration(4.53 * 3600), duration(48.3 * 3600), duration(33 * 86_400), duration(undefined)]).toEqual(["4.5 h", "48 h", "33 days", "–"]);
  });
});
