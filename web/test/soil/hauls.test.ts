import { beforeAll, describe, expect, test, vi } from "vitest";
import { type Haul, arrowAt, arrows, haulsOf, placeOfEnd, timesByEnd, wayOf } from "../../src/plan/hauls";
import { smallJob } from "../plan/fake-hand";

// The settings of the page are kept in the browser, which is not here.
beforeAll(() => vi.stubGlobal("localStorage", { getItem: () => null, setItem: () => {} }));

const haul = (from: readonly [number, number], to: readonly [number, number], end: string, volume: number, stream = "soil"): Haul => ({
  from, to, end, stream, volume, work: volume * Math.hypot(to[0] - from[0], to[1] - from[1]), time: 100 * volume,
});

/** Blocks of four metres that all go to one pile and to filled blocks beside them. */
const many = Array.from({ length: 20 }, (_, row) => Array.from({ length: 20 }, (_, column) => [4 * row, 4 * column] as const))
  .flat()
  .flatMap((place, at) => [haul(place, [200, 100], "pile heap", 1 + at / 100), haul(place, [place[0] + 30, place[1]], "placed", 0.5)]);

describe("arrows", () => {
  test("are few, and carry all the soil and its work", () => {
    const found = arrows(many);
    const sum = (some: readonly Haul[], of: (one: Haul) => number): number => some.reduce((total, one) => total + of(one), 0);

    expect(found.length).toBeGreaterThan(3);
    expect(found.length).toBeLessThanOrEqual(25);
    expect(sum(found, (one) => one.volume)).toBeCloseTo(sum(many, (one) => one.volume), 6);
    expect(sum(found, (one) => one.work)).toBeCloseTo(sum(many, (one) => one.work), 4);
  });

  test("never mix streams or places, the widest first", () => {
    const found = arrows([haul([0, 0], [50, 0], "pile a", 3), haul([1, 0], [50, 0], "pile a", 1, "topsoil"), haul([0, 1], [50, 9], "pile b", 7)]);

    expect(found.map(({ end, stream, volume }) => [end, stream, volume])).toEqual([["pile b", "soil", 7], ["pile a", "soil", 3], ["pile a", "topsoil", 1]]);
  });

  test("of soil without a place there is none, and none of nothing", () => {
    expect(arrows([haul([5, 5], [0, 0], "nowhere", 9)])).toEqual([]);
    expect(arrows([])).toEqual([]);
  });

  test("start and end at the middle of what they gather", () => {
    const [one] = arrows([haul([0, 0], [40, 0], "pile a", 3), haul([4, 0], [40, 0], "pile a", 1)]);

    expect(one?.from).toEqual([1, 0]);
    expect(one?.to).toEqual([40, 0]);
  });

  test("take a way that one of them really takes where some of them bend", () => {
    const round = (east: number): Haul => ({ ...haul([east, 0], [40, 0], "pile a", 1), bends: [[20, 5 + east]] });
    const [one] = arrows([round(0), round(2), round(3)]);

    expect(wayOf(one as Haul)).toEqual([[2, 0], [20, 7], [40, 0]]);
  });

  test("are hit along their length, the nearest of them", () => {
    const two = [haul([0, 0], [10, 0], "pile a", 1), haul([0, 2], [10, 2], "pile b", 1)];

    expect(arrowAt(two, [5, 0.4], 1)?.end).toBe("pile a");
    expect(arrowAt(two, [5, 1.7], 1)?.end).toBe("pile b");
    expect(arrowAt(two, [12, 0], 1)).toBeNull();
  });
});

test("hauls are read from the array of the server", () => {
  const sent = { field: { data: new Float32Array([1, 2, 11, 2, 4, 10, 60, 0, 0, 0, 0, 1, 0, 0]), shape: [2, 7] }, head: { ids: ["pile heap", "nowhere"], streams: ["muck", "soil"] } };
  const [one, other] = haulsOf(sent);

  expect(one).toEqual({ from: [1, 2], to: [11, 2], end: "pile heap", stream: "muck", volume: 4, work: 40, time: 60 });
  expect(other?.end).toBe("nowhere");
  expect(haulsOf(null)).toEqual([]);
});

test("a haul that bends along the way in is drawn and hit along it", () => {
  const field = { data: new Float32Array([0, 0, 20, 10, 4, 30, 60, 5, 5, 6, 5, 1, 1, 9]), shape: [2, 7] };
  const sent = { field, head: { ids: ["off site tip", "placed"], streams: ["soil", "soil"] } };
  const some = haulsOf(sent, { places: new Float32Array([20, 0]), starts: new Int32Array([0, 1, 1]) });

  expect(some.map(({ bends }) => bends)).toEqual([[[20, 0]], []]);
  expect(wayOf(some[0] as Haul)).toEqual([[0, 0], [20, 0], [20, 10]]);
  expect(arrowAt(arrows(some), [19.8, 6], 1)?.end).toBe("off site tip");
  expect(arrowAt(arrows(some), [10, 5], 1)).toBeNull();
});

test("an end tells which place it is, whatever the name of the place", () => {
  expect(["pile my heap", "off site tip", "placed", "nowhere"].map(placeOfEnd)).toEqual([
    { kind: "pile", id: "my heap" }, { kind: "gate", id: "tip" }, { kind: "placed", id: "" }, { kind: "nowhere", id: "" },
  ]);
});

describe("destinations", () => {
  const job = {
    ...smallJob(),
    earth: {
      piles: { heap: { name: "Heap by the gate", place: { at: "point" as const, east: 0, north: 0 } } },
      off_site: { tip: { way: "export" as const, distance: 8000, gate: { at: "point" as const, east: 9, north: 9 } } },
    },
  };
  const figures = {
    "earth.haul.to_banks": 50, "earth.haul.homeless": 12,
    "earth.haul.piles.heap.topsoil": 10, "earth.haul.piles.heap.muck": 0, "earth.haul.piles.heap.soil": 5, "earth.haul.piles.heap.loose": 19, "earth.haul.piles.heap.loads": 0,
    "earth.haul.gates.tip.topsoil": 0, "earth.haul.gates.tip.muck": 2, "earth.haul.gates.tip.soil": 30, "earth.haul.gates.tip.loose": 40, "earth.haul.gates.tip.loads": 4,
  };

  test("are the banks, each pile, each gate, and last what has no place", async () => {
    const { destinations } = await import("../../src/panels/destinations");
    const times = timesByEnd([haul([0, 0], [1, 1], "pile heap", 3), haul([0, 0], [1, 1], "pile heap", 4)]);
    const rows = destinations(job, figures, times);

    expect(rows.map(({ kind, bank }) => [kind, bank])).toEqual([["placed", 50], ["pile", 15], ["gate", 32], ["nowhere", 12]]);
    expect(rows.map(({ loads }) => loads)).toEqual([null, null, 4, null]);
    expect(rows[1]).toMatchObject({ name: "Heap by the gate", loose: 19, time: 700 });
  });

  test("have no row for soil without a place when all has one, and none before anything is worked out", async () => {
    const { destinations } = await import("../../src/panels/destinations");
    expect(destinations(job, { ...figures, "earth.haul.homeless": 0 }, new Map()).map(({ kind }) => kind)).toEqual(["placed", "pile", "gate"]);
    expect(destinations(job, {}, new Map())).toEqual([]);
  });
});
