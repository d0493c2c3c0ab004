import { expect, test, vi } from "vitest";

vi.hoisted(() => {
  globalThis.localStorage = { getItem: () => null, setItem: () => undefined } as unknown as Storage;
});

import type { Field, FrameGrid } from "../../src/api/frame";
import type { Job, Way } from "../../src/api/types";
import { gatesOn } from "../../src/plan/built";
import type { Kept } from "../../src/plan/fields";
import { boardsIn, boardsOf, seatWords } from "../../src/plan/layers/built";
import { reachedRuns } from "../../src/plan/layers/reach";
import { maskOf } from "../../src/plan/masks";
import { reachesOf, sidesOf } from "../../src/plan/reaches";
import { bestFall, fallName, fallsWords, shortFallName, sharePath } from "../../src/plan/seen-falls";
import { type Edge, edgesOf, lowSpots, reachedSpans } from "../../src/strip/edge";
import { facesOf } from "../../src/three/built";
import { smallJob } from "./fake-hand";

function kept(data: readonly number[], head: Partial<Kept["head"]> = {}, grid: FrameGrid | null = null): Kept {
  const full = { name: "", dtype: "float32", shape: [data.length], offset: 0, ...head } as Kept["head"];
  return { head: full, grid, field: { head: full, data: Float32Array.from(data), shape: full.shape, scale: 1, zero: 0, columns: full.columns ?? [] } };
}

test("runs of the shore that a way reaches go over the first place of the ring", () => {
  const ring = [0, 0, 1, 0, 2, 0, 2, 1, 1, 1, 0, 1];
  const runs = (flags: readonly number[]) => reachedRuns(kept(ring), kept([0, 6]), kept(flags));

  expect(runs([1, 1, 0, 0, 0, 1])).toEqual([[[0, 1], [0, 0], [1, 0]]]);
  expect(runs([0, 1, 1, 0, 1, 1])).toHaveLength(2);
  expect(runs([0, 0, 0, 0, 0, 0])).toEqual([]);
  expect(runs([1, 1, 1, 1, 1, 1])[0]).toHaveLength(7);
});

test("what one seat sees is its bit of the mask", () => {
  const grid = { origin_east: 0, origin_north: 0, spacing: 1, columns: 2, rows: 2 };
  const group = kept([0, 1, 2, 3], { ids: ["bench", "window"] }, grid);

  expect([...(maskOf(group, "bench")?.field.data ?? [])]).toEqual([0, 1, 0, 1]);
  expect([...(maskOf(group, "window")?.field.data ?? [])]).toEqual([0, 0, 1, 1]);
  expect(maskOf(group, "gone")).toBeNull();
});

test("a seat is told with the share of the water and the falls that it sees", () => {
  const built = { kind: "seat", id: "bench", row: { name: "Bench" }, place: { at: "point", east: 0, north: 0 } } as never;
  const views = (falls: number, seen = 1, best = 0.5): Kept => kept([5, 6, 101, 0.624, seen, falls, best], { ids: ["bench"], columns: ["east", "north", "elevation", "share", "falls_seen", "falls", "best_fall"] });

  expect(seatWords(built, views(2))).toEqual(["Bench", "sees 62 %", "1 of 2 falls"]);
  expect(seatWords(built, views(2, 0, 0.21))).toEqual(["Bench", "sees 62 %", "21 % of a fall"]);
  expect(seatWords(built, views(2, 0, 0.21), "Upper fall")).toEqual(["Bench", "sees 62 %", "21 % of Upper fall"]);
  expect(seatWords(built, views(2, 0, 0))).toEqual(["Bench", "sees 62 %", "0 of 2 falls"]);
  expect(seatWords(built, views(0))).toEqual(["Bench", "sees 62 %"]);
  expect(seatWords(built, null)).toEqual(["Bench"]);
});

test("a fall is called what the list of stone calls it, else by its number, and the model says what share of it counts", () => {
  const outline = { form: "corridor", curve: { pegs: [0, 5, 10].map((east, at) => ({ id: `p${at}`, east, north: 0 })) }, widths: [1, 1, 1], steps: [{ distance: 3, drop: 0.4 }, { distance: 7, drop: 0.3 }] };
  const job = { ...smallJob(), shape: { bodies: { brook: { name: "The brook", outline } } }, stone: { falls: { lower: { body: "brook", step: 1, width: 1, name: "Lower fall, 18 in" } } } } as unknown as Job;
  const [first, second] = [{ body: "brook", at: 0 }, { body: "brook", at: 1 }];
  const share = (one: number, other: number) => ({ [sharePath("bench", first)]: one, [sharePath("bench", second)]: other });

  expect([fallName(job, first), fallName(job, second)]).toEqual(["Fall 1 of The brook", "Lower fall, 18 in"]);
  expect([shortFallName(job, first), shortFallName(job, second)]).toEqual(["fall 1", "Lower fall"]);
  expect(bestFall(job, "bench", share(0.1, 0.3))?.at).toBe(1);
  expect(bestFall(job, "bench", share(0.3, 0.1))?.at).toBe(0);
  expect(fallsWords(kept([0.25, 0.4], { columns: ["share", "counts_from"] }).field)).toBe("Falls in sight: 40 % or more of one");
  expect(fallsWords(null)).toBe("Falls in sight");
});

test("a reach of a stream has a left and a right bank, both downstream", () => {
  const [reach] = reachesOf(kept([0, 1, 5, 1, 5, -1, 0, -1]), kept([0, 4], { ids: ["brook"] }), kept([99.5]));

  expect(reach).toMatchObject({ body: "brook", level: 99.5 });
  expect(sidesOf(reach?.ring ?? [])).toEqual([[[0, 1], [5, 1]], [[0, -1], [5, -1]]]);
});

test("boards lie across a line and inside a ring, evenly apart", () => {
  const across = boardsOf([[0, 0], [2, 0], [2, 2]], 1, 0.5);
  const inside = boardsIn([[0, 0], [4, 0], [4, 2], [0, 2], [0, 0]], 0.5);

  expect(across.map(([[east, north] = [0, 0]]) => [east, north])).toEqual([[0.5, 0.5], [1.5, 0.5], [1.5, 0.5], [1.5, 1.5]]);
  expect(inside.map((line) => line.map(([east, north]) => [Math.round(east), north]).sort((a, b) => (a[0] as number) - (b[0] as number)))).toEqual([0.5, 1, 1.5].map((north) => [[0, north], [4, north]]));
});

function strip(rows: readonly (readonly number[])[], ring: string): Field {
  return { head: { body: "brook", ring }, data: Float32Array.from(rows.flat()), shape: [rows.length, 9], scale: 1, zero: 0, columns: [] } as unknown as Field;
}

const JOB = { shape: { bodies: { brook: { outline: { form: "corridor", curve: { pegs: [{ id: "p1", east: 0, north: 0 }, { id: "p2", east: 9, north: 0 }] }, widths: [1, 1] } } } } } as unknown as Job;
/** A bank whose water falls half a metre at 4.5 m; its rim is 0.2 m over the water, but for one place that is under it. */
const ROWS = Array.from({ length: 10 }, (_, at) => [at, at, 0.5, 99, (at < 5 ? 100 : 99.5) + (at === 7 ? -0.1 : 0.2), at < 5 ? 100 : 99.5, 0.2, 0, at > 1 && at < 5 ? 1 : 0]);

test("a bank of a stream is an open edge whose water stands lower after a fall", () => {
  const [edge] = edgesOf([strip(ROWS, "left")], JOB) as [Edge];
  const [spot, ...more] = lowSpots(edge, 100, 0.2);

  expect(edge).toMatchObject({ body: "brook", ring: "left", length: 9, reversed: false });
  expect(edge.places.map(({ drop }) => drop)).toEqual([0, 0, 0, 0, 0, 0.5, 0.5, 0.5, 0.5, 0.5]);
  expect(more).toEqual([]);
  expect(spot).toMatchObject({ kind: "spills", short: expect.closeTo(0.3, 4) as number, lowest: { station: 7 } });
});

test("the parts that a way reaches are told from station to station, or not at all", () => {
  const [edge] = edgesOf([strip(ROWS, "left")], JOB) as [Edge];
  const [unknown] = edgesOf([strip(ROWS.map((row) => [...row.slice(0, 8), -1]), "right")], JOB) as [Edge];

  expect(reachedSpans(edge)).toEqual([[2, 4]]);
  expect(reachedSpans(unknown)).toBeNull();
});

test("walls stand from the ground to their top or at their height, and bridges lie at their level", () => {
  const line = { at: "line", points: [{ east: 0, north: 0 }, { east: 2, north: 0 }] } as const;
  const ways = { wall: { kind: "wall", place: line, top: 3 }, low: { kind: "wall", place: line, height: 0.5 }, span: { kind: "bridge", place: line, width: 1, level: 2 } } as const;
  const faces = facesOf({ ...smallJob(), shape: { ways } }, (east, north) => east + north);

  expect(faces).toHaveLength(5);
  expect(faces[0]).toEqual([[0, 0, 0], [1, 0, 1], [1, 0, 3], [0, 0, 3]]);
  // The ground is higher by 0.3 m on one side of it.
  expect(faces[2]?.map(([, , height]) => height)).toEqual([0, 1, expect.closeTo(1.8), expect.closeTo(0.8)]);
  expect(faces[4]?.map(([, north, height]) => [north, height])).toEqual([[0.5, 2], [0.5, 2], [-0.5, 2], [-0.5, 2]]);
});

test("a bridge that rises lies at its level at both ends, and at the share of its length in between", () => {
  const place = { at: "line", points: [{ east: 0, north: 0 }, { east: 3, north: 0 }, { east: 4, north: 0 }] } as const;
  const faces = facesOf({ ...smallJob(), shape: { ways: { span: { kind: "bridge", place, width: 1, level: 2, end_level: 4 } } } }, () => 0);

  expect(faces.map((face) => face.map(([, , height]) => height))).toEqual([[2, 3.5, 3.5, 2], [3.5, 4, 4, 3.5]]);
});

test("a closed fence is a face, an open one posts and rails, and a light a post with a head", () => {
  const place = { at: "line", points: [{ east: 0, north: 0 }, { east: 4, north: 0 }] } as const;
  const count = (way: Way): number => facesOf({ ...smallJob(), shape: { ways: { one: way } } }, () => 0).length;

  expect(count({ kind: "fence", place })).toBe(2);
  expect(count({ kind: "fence", place, open_share: 0.6 })).toBe(6);
  expect(count({ kind: "light", place: { at: "point", east: 1, north: 1 } })).toBe(4);
});

test("the posts of a gate stand on the fence, and one beyond its end stands at the end", () => {
  const line = [[0, 0], [4, 0], [4, 4]] as const;

  expect(gatesOn(line, [{ distance: 4, width: 2 }, { distance: 99 }])).toEqual([[[3, 0], [4, 1]], [[4, 3], [4, 4]]]);
});
