import { describe, expect, test } from "vitest";
import type { Field } from "../src/api/frame";
import type { Job } from "../src/api/types";
import { bankBands, edgesOf, hasFace, lowSpots, openSpots, pegTicks, placeAt, raisedSpots, stationNear, unseamed } from "../src/strip/edge";
import { isPart, scrolled, showing, zoomed } from "../src/strip/view";
import { CLOTH, flagPlaces, letterOf } from "../src/strip/flags";
import { inLines, lineNames } from "../src/strip/names";

const SIDE = 10;

/** A square shore of 40 m, walked to the left from its first corner, with the rim's height given at each corner. */
function square(rims: readonly number[], turned = false, body = "pond") {
  const corners = [[0, 0], [SIDE, 0], [SIDE, SIDE], [0, SIDE]] as const;
  const walked = turned ? [corners[0], ...corners.slice(1).reverse()] : corners;
  const rows = walked.map(([east, north], at) => [at * SIDE, east, north, 99, rims[at] ?? 101, 100, 0.3, 0]);
  return { head: { body }, data: Float32Array.from(rows.flat()), shape: [rows.length, 8], scale: 1, zero: 0, columns: [] } as unknown as Field;
}

const job = {
  shape: {
    bodies: {
      pond: {
        outline: {
          form: "ring",
          curve: {
            pegs: [
              { id: "a", east: 0, north: 0 },
              { id: "b", east: 10, north: 0 },
              { id: "c", east: 10, north: 10 },
              { id: "d", east: 0, north: 10 },
            ],
          },
        },
        bank_type: "soft",
        stretches: {
          one: { start: "b", end: "c", bank_type: "wall" },
          two: { start: "d", end: "a", bank_type: "beach" },
        },
      },
    },
  },
} as unknown as Job;

const edgeOf = (rims: readonly number[], turned = false) => {
  const [edge] = edgesOf([square(rims, turned)], job);
  if (!edge) throw new Error("no edge");
  return edge;
};

describe("the edge of the water", () => {
  test("closes at its full length with the first place again", () => {
    const edge = edgeOf([101, 101, 101, 101]);

    expect(edge.length).toBeCloseTo(40);
    expect(edge.places.at(-1)).toMatchObject({ station: 40, east: 0, north: 0 });
  });

  test("is not there when the job no longer has its body", () => {
    expect(edgesOf([square([101, 101, 101, 101], false, "gone")], job)).toEqual([]);
  });

  test("reads between its places on straight lines", () => {
    const place = placeAt(edgeOf([100, 102, 101, 101]), 5);

    expect(place).toMatchObject({ station: 5, east: 5, north: 0, rim: 101 });
  });

  test("finds the station next to a point, on the closing side as well", () => {
    const near = stationNear(edgeOf([101, 101, 101, 101]), [-1, 4]);

    expect(near.station).toBeCloseTo(36);
    expect(near.distance).toBeCloseTo(1);
  });

  test("puts pegs at their stations in the order of walking", () => {
    expect(pegTicks(edgeOf([]), job)).toEqual([
      { id: "a", station: 0 },
      { id: "b", station: 10 },
      { id: "c", station: 20 },
      { id: "d", station: 30 },
    ]);
  });
});

describe("low spots", () => {
  test("begin and end where the bank crosses the freeboard", () => {
    // The rim falls from 101 to 100 and rises again; the freeboard line stands at 100.3.
    const [spot, ...others] = lowSpots(edgeOf([101, 101, 100, 101]), 100, 0.3);

    expect(others).toEqual([]);
    expect(spot?.from).toBeCloseTo(17, 4);
    expect(spot?.to).toBeCloseTo(23, 4);
    expect(spot?.length).toBeCloseTo(6, 4);
    expect(spot?.lowest.station).toBe(20);
    expect(spot?.kind).toBe("low");
  });

  test("over the seam are one spot", () => {
    const spots = lowSpots(edgeOf([100, 101, 101, 101]), 100.1, 0.3);

    expect(spots).toHaveLength(1);
    expect(spots[0]?.from).toBeCloseTo(36, 4);
    expect(spots[0]?.to).toBeCloseTo(4, 4);
    expect(spots[0]?.length).toBeCloseTo(8, 4);
    expect(spots[0]?.kind).toBe("spills");
  });

  test("come with the worst first", () => {
    const spots = lowSpots(edgeOf([101, 100.2, 101, 99.9]), 100, 0.3);

    expect(spots.map(({ lowest }) => lowest.station)).toEqual([30, 10]);
  });

  test("follow the level in hand, not the one of the frame", () => {
    expect(lowSpots(edgeOf([101, 101, 100.5, 101]), 100, 0.3)).toEqual([]);
    expect(lowSpots(edgeOf([101, 101, 100.5, 101]), 100.4, 0.3)).toHaveLength(1);
  });

  test("are none where the bank is short by less than anybody levels it, unless water runs over", () => {
    expect(lowSpots(edgeOf([101, 101, 100.28, 101]), 100, 0.3)).toEqual([]);
    expect(lowSpots(edgeOf([101, 101, 99.98, 101]), 100, 0)).toMatchObject([{ kind: "spills" }]);
  });

  test("all round are one spot of the whole length", () => {
    const [spot] = lowSpots(edgeOf([99, 99, 99, 99]), 100, 0.3);

    expect(spot?.length).toBeCloseTo(40);
  });

  test("of the ground say how much it is raised there", () => {
    const [spot] = raisedSpots(edgeOf([101, 101, 101, 101]), 100, 0.3);

    expect(spot).toMatchObject({ kind: "raise" });
    expect(spot?.short).toBeCloseTo(1.3);
    expect(raisedSpots(edgeOf([]), 98, 0.3)).toEqual([]);
  });

  test("over the seam are drawn as two spans", () => {
    expect(unseamed({ from: 34, to: 6 }, 40)).toEqual([[34, 40], [0, 6]]);
  });
});

describe("openings of the bank", () => {
  const openings = [{ kind: "overflow", name: "Spill" }] as const;
  /** The square with a crest that no cut face lifts, and openings told place by place. */
  const opened = (rims: readonly number[], told: readonly number[]) => {
    const field = square(rims);
    const rows = rims.map((rim, at) => [...field.data.slice(8 * at, 8 * at + 8), 0, -9999, -9999, -9999, -9999, Math.min(rim, 100.3), told[at] ?? -1]);
    const [edge] = edgesOf([{ ...field, head: { body: "pond", openings }, data: Float32Array.from(rows.flat()), shape: [rims.length, 15] } as unknown as Field], job);
    if (!edge) throw new Error("no edge");
    return edge;
  };

  test("are named and are no low spots", () => {
    const edge = opened([101, 101, 100.1, 101], [-1, -1, 0, -1]);

    expect(lowSpots(edge, 100, 0.3)).toEqual([]);
    expect(openSpots(edge, 100, 0.3)).toMatchObject([{ kind: "overflow", lowest: { station: 20, opening: openings[0] } }]);
  });

  test("leave the low bank beside them a low spot", () => {
    const edge = opened([101, 100.2, 100.1, 101], [-1, -1, 0, -1]);

    expect(lowSpots(edge, 100, 0.3)).toMatchObject([{ kind: "low", to: 15, lowest: { station: 10 } }]);
    expect(openSpots(edge, 100, 0.3)).toMatchObject([{ kind: "overflow", from: 15 }]);
  });

  test("know where a cut face rises behind the crest", () => {
    expect(opened([101, 100.3, 100.1, 101], []).places.map(hasFace)).toEqual([true, false, false, true, true]);
  });
});

describe("flags over the strip", () => {
  const box = { left: 60, right: 400, top: 24, bottom: 200 };

  test("hang and speak where they lie over no other, the first ones choosing first", () => {
    const flags = [{ x: 398, words: "1.58 ft low at it" }, { x: 200, words: "0.35 ft low" }, { x: 196, words: "raise 2 ft" }, { x: 203, words: "gone" }];
    const places = flagPlaces(flags, box);
    const rooms = places.flatMap((place, at) => {
      if (!place) return [];
      const long = (flags[at]?.words.length ?? 0) * 6.6;
      const words = place.words && (place.words.anchor === "start" ? [place.words.x, place.words.x + long] : [place.words.x - long, place.words.x]);
      return [[place.cloth, place.cloth + CLOTH], ...(words ? [words] : [])] as [number, number][];
    });

    expect(places[0]).toMatchObject({ cloth: 380, words: { anchor: "end" } });
    expect(places[1]).toMatchObject({ cloth: 200, words: null });
    expect(places[2]).toMatchObject({ cloth: 196 - CLOTH, words: { anchor: "end" } });
    expect(places[3]).toBeNull();
    for (const [left, right] of rooms) {
      expect(left >= box.left && right <= box.right).toBe(true);
      expect(rooms.filter((other) => other[0] < right && left < other[1])).toHaveLength(1);
    }
    expect([0, 1, 5].map(letterOf)).toEqual(["A", "B", "F"]);
  });
});

describe("bank types from here to here", () => {
  test("lie between their pegs, the body's own everywhere else", () => {
    expect(bankBands(edgeOf([]), job)).toEqual([
      { from: 0, to: 10, bankType: "soft" },
      { from: 10, to: 20, bankType: "wall" },
      { from: 20, to: 30, bankType: "soft" },
      { from: 30, to: 40, bankType: "beach" },
    ]);
  });

  test("keep their side when the server walks the ring the other way", () => {
    const edge = edgeOf([], true);

    expect(edge.reversed).toBe(true);
    expect(bankBands(edge, job)).toEqual([
      { from: 0, to: 10, bankType: "beach" },
      { from: 10, to: 20, bankType: "soft" },
      { from: 20, to: 30, bankType: "wall" },
      { from: 30, to: 40, bankType: "soft" },
    ]);
  });
});

describe("the view along the shore", () => {
  test("zooms about a station that stays where it is", () => {
    const [from, to] = zoomed([0, 100], 100, 2, 25);

    expect((25 - from) / (to - from)).toBeCloseTo(0.25);
    expect(to - from).toBeCloseTo(50);
  });

  test("never leaves the shore", () => {
    expect(scrolled([0, 40], 100, -10)).toEqual([0, 40]);
    expect(scrolled([50, 90], 100, 30)).toEqual([60, 100]);
    expect(zoomed([0, 100], 100, 0.5, 50)).toEqual([0, 100]);
  });

  test("moves just so far that a station is in it", () => {
    expect(showing([0, 40], 100, 20)).toEqual([0, 40]);
    expect(showing([0, 40], 100, 60)).toEqual([24, 64]);
  });

  test("knows whether it is a part", () => {
    expect(isPart([0, 100], 100)).toBe(false);
    expect(isPart([0, 99], 100)).toBe(true);
  });
});

test("names of lines lie on no other name, within the box, and keep off other lines where they can", () => {
  const box = { left: 60, right: 560, top: 20, bottom: 220 };
  const flat = (text: string, y: number) => ({ text, kind: "", points: Array.from({ length: 60 }, (_, at) => [60 + 8.5 * at, y] as const) });
  const lines = [flat("bank top", 100), flat("ground now", 104), flat("liner’s edge", 102), flat("top of the stone", 98)];

  const named = lineNames(lines, box);
  const rooms = named.map(({ text, x, y }) => [x, x + text.length * 6.6, y - 11, y + 3] as const);

  expect(named.map(({ text }) => text)).toEqual(lines.map(({ text }) => text));
  for (const [left, right, top, bottom] of rooms) {
    expect(left >= box.left && right <= box.right && top >= box.top && bottom <= box.bottom).toBe(true);
    expect(rooms.filter((other) => other[0] < right && left < other[1] && other[2] < bottom && top < other[3])).toHaveLength(1);
  }
  const [, deep] = lineNames([flat("bank top", 96), { text: "deep", kind: "", points: [...flat("", 106).points.slice(0, 30), ...flat("", 200).points.slice(30)] }, flat("low", 118)], box);
  expect(deep?.y).toBeGreaterThan(180);
  expect(lineNames([flat("beyond", 900)], box)).toEqual([]);
  const steep = [{ ...flat("bank top", 0), points: Array.from({ length: 60 }, (_, at) => [60 + 8.5 * at, at % 2 ? 30 : 210] as const) }];
  expect(lineNames(steep, box)).toHaveLength(1);
  expect(lineNames(steep, box, true)).toEqual([]);
});

test("a reading is broken at its dots where it has no room", () => {
  expect(inLines("12 ft · ground 99.1 ft · bank top 99.5 ft", 1000)).toEqual(["12 ft · ground 99.1 ft · bank top 99.5 ft"]);
  expect(inLines("12 ft · ground 99.1 ft · bank top 99.5 ft", 160)).toEqual(["12 ft · ground 99.1 ft", "bank top 99.5 ft"]);
});
