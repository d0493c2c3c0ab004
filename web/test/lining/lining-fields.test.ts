import { describe, expect, test, vi } from "vitest";

vi.hoisted(() => {
  globalThis.localStorage = { getItem: () => null, setItem: () => undefined } as unknown as Storage;
});

import type { ArrayHead, Field, Frame } from "../../src/api/frame";
import type { OrderHead, RimHead } from "../../src/api/lining-told";
import type { Job } from "../../src/api/types";
import { piecedOps } from "../../src/panels/liner-form";
import { usersOf } from "../../src/panels/liner-order";
import { isAbout, linerName, linerOps, linersOf, tapedWords } from "../../src/panels/liner-parts";
import { linerSheet } from "../../src/panels/liner-sheets";
import { runsWhere } from "../../src/plan/layers/liner";
import { linersShownOf, ordersOf, rimsOf } from "../../src/plan/lining-fields";
import { applyOps, type Json } from "../../src/state/ops";
import { linedRuns } from "../../src/section/profile";
import { rimLines } from "../../src/three/built";
import { smallJob } from "../plan/fake-hand";

function field(name: string, rows: readonly (readonly number[])[], head: Partial<ArrayHead> = {}): Field {
  const shape = [rows.length, rows[0]?.length ?? 0];
  const full = { name, dtype: "float64", shape, offset: 0, ...head } as ArrayHead;
  return { head: full, data: new Float64Array(rows.flat()), shape, scale: 1, zero: 0, columns: [] };
}

function frame(...fields: readonly Field[]): Frame {
  return { header: { arrays: fields.map(({ head }) => head) }, fields: Object.fromEntries(fields.toReversed().map((one) => [one.head.name, one])), every: fields } as unknown as Frame;
}

const starts = (ids: readonly string[], ...at: readonly number[]): Field => ({ ...field("liner_ends_starts", []), head: { ...field("liner_ends_starts", []).head, ids }, data: new Int32Array(at) });
const SQUARE = [0, 0, 10, 0, 10, 4, 0, 4];

describe("liners of a frame", () => {
  test("come with their own ends, pieces by name and seams", () => {
    const told = linersShownOf(
      frame(
        field("liner_ends_points", [[0, 0], [1, 0], [1, 1], [5, 5], [6, 6]]),
        starts(["pond", "stream"], 0, 3, 5),
        field("liner_pieces", [[...SQUARE, 10.5, 4.2]], { liner: "pond", one_piece: false, ids: ["A"] }),
        field("liner_seams", [[0, 2, 10, 2, 10]], { liner: "pond" }),
        field("liner_pieces", [[...SQUARE, 3, 2]], { liner: "stream", one_piece: true }),
      ),
    );

    expect(told?.map(({ liner, onePiece }) => [liner, onePiece])).toEqual([["pond", false], ["stream", true]]);
    expect(told?.[0]).toMatchObject({ ends: [[[0, 0], [1, 0], [1, 1]]], seams: [[[0, 2], [10, 2]]] });
    expect(told?.[0]?.pieces[0]).toMatchObject({ name: "A", length: 10.5, width: 4.2, corners: [[0, 0], [10, 0], [10, 4], [0, 4]] });
    expect(told?.[1]?.ends).toEqual([[[5, 5], [6, 6]]]);
  });

  test("a frame that tells of none says nothing, so that the last picture stays", () => {
    expect([linersShownOf(frame()), ordersOf(frame()), rimsOf(null)]).toEqual([null, null, null]);
  });
});

describe("order and edge", () => {
  const order = { material: "epdm", form: "one", steps: ["Fold it."] } as unknown as OrderHead;
  const rim = { lows: [], steps: [] } as unknown as RimHead;
  const places = [[0, 0, 0, 100.1, 100, 100.2, 0], [5, 0, 5, 100.1, 100, 100.2, 0], [9, 9, 0, 99, 100, 100, 1]];

  test("an order has the corners of each piece under its letter", () => {
    expect(ordersOf(frame(field("all_orders", [[0]]), field("liner_order", [SQUARE], { liner: "pond", ids: ["A"], order })))).toEqual([
      { ...order, liner: "pond", pieces: [{ name: "A", corners: [[0, 0], [10, 0], [10, 4], [0, 4]] }] },
    ]);
  });

  test("an edge is drawn in the round ring by ring, each closed at its own height", () => {
    const [told] = rimsOf(frame(field("all_rims", [[0]]), field("liner_rim", places, { body: "pond", rim }), field("liner_band", [[0, 0, 0.2, 1]], { body: "pond" }))) ?? [];

    expect(told?.places.map(({ ring }) => ring)).toEqual([0, 0, 1]);
    expect(told?.band).toEqual([{ point: [0, 0], bare: 0.2, seen: true }]);
    expect(rimLines(told ? [told] : [])).toEqual([[[0, 0, 100.1], [5, 0, 100.1], [0, 0, 100.1]], [[9, 9, 99], [9, 9, 99]]]);
  });
});

describe("liners of a job", () => {
  const job: Job = { ...smallJob(), lining: { liners: { both: { bodies: ["pond", "gone"], one_piece: false, stock: [{ width: 2, length: 30 }] }, lost: { bodies: ["gone"] } } } };

  test("a body that no liner names has one of its own, and a liner of nothing is left out", () => {
    expect(linersOf(smallJob())).toEqual([{ id: "pond", row: { bodies: ["pond"] }, assumed: true }]);
    expect(linersOf(job).map(({ id, assumed }) => [id, assumed])).toEqual([["both", false]]);
    expect(linerName(job, { id: "both", row: { bodies: ["pond"] } })).toBe("pond");
  });

  test("the first thing that is said of an assumed liner writes it down, and undoing takes it away", () => {
    const [own] = linersOf(smallJob());
    const ops = own ? linerOps(smallJob(), own, "margin", 0.8) : [];
    const after = applyOps(smallJob() as unknown as Json, ops) as unknown as Job;

    expect(after.lining?.liners).toEqual({ pond: { bodies: ["pond"], margin: 0.8 } });
    expect(own && linerOps(smallJob(), own, "margin", null)).toEqual([]);
  });

  test("what it comes in is one edit of the fields that change", () => {
    const [rolls] = linersOf(job);
    const [own] = linersOf(smallJob());

    expect(rolls && piecedOps(job, rolls, "parts").map(({ path, value }) => [path, value])).toEqual([["/lining/liners/both/one_piece", true], ["/lining/liners/both/parts", true]]);
    expect(rolls && piecedOps(job, rolls, "rolls")).toEqual([]);
    expect(own && piecedOps(smallJob(), own, "rolls")).toEqual([{ op: "add", path: "/lining/liners/pond", value: { bodies: ["pond"], one_piece: false, parts: false } }]);
  });

  test("a liner from rolls is told by its strips, one piece by its size", () => {
    const figures = { "lining.arcs.liners.both.count": 3, "lining.arcs.liners.both.width": 2, "lining.arcs.liners.both.length": 12, "lining.arcs.liners.both.ordered_area": 70 };
    const [rolls] = linersOf(job);

    expect(rolls && tapedWords(figures, rolls)).toMatch(/^3 strips/);
    expect(rolls && tapedWords(figures, { ...rolls, row: { ...rolls.row, one_piece: true } })).toContain("×");
  });
});

test("a section has its liner under water and up each bank, as far as it stands over the water", () => {
  const place = (station: number, subgrade: number, water: number | null) => ({ station, ground: 100, finish: subgrade, subgrade, water, point: [station, 0] as const, below: null });
  const cut = [place(0, 100.5, null), place(1, 100, null), place(2, 99, 100), place(3, 98.5, 100), place(4, 100, null), place(5, 100, null), place(6, 100, null)];
  const [run] = linedRuns(cut, 0.1);

  expect(run?.map(({ station, subgrade }) => [Number(station.toFixed(3)), Number(subgrade.toFixed(3))])).toEqual([[0.8, 100.1], [1, 100], [2, 99], [3, 98.5], [4, 100], [5, 100]]);
  expect(linedRuns(cut)).toHaveLength(1);
});

test("tables of the liner put in pipes, change what was taped, and say that lines are drawn", () => {
  const job: Job = { ...smallJob(), lining: { tapes: { long: { place: { at: "line", points: [{ east: 0, north: 0 }, { east: 5, north: 0 }] } } } } };
  const after = (ops: ReturnType<ReturnType<typeof linerSheet>["ops"]>): Job => applyOps(job as unknown as Json, ops) as unknown as Job;

  expect(after(linerSheet(job, "tapes").ops([{ id: "long", values: { taped: 12.4 } }], [])).lining?.tapes?.["long"]?.taped).toBe(12.4);
  expect(after(linerSheet(job, "penetrations").ops([], [{ east: 3, north: 4, diameter: 0.11, over: "could", name: "" }])).lining?.penetrations).toEqual({ penetration_1: { place: { at: "point", east: 3, north: 4 }, diameter: 0.11, over: "could" } });
  expect([linerSheet(job, "penetrations").lacks({ east: 1 }), linerSheet(job, "tapes").lacks({ taped: 3 })].every((words) => words !== "")).toBe(true);
  expect(linerSheet(job, "tapes").removal("long")).toEqual([{ op: "remove", path: "/lining/tapes/long" }]);
});

describe("checks on the page", () => {
  const pond = { id: "pond", row: { bodies: ["pond"] }, assumed: true };
  const check = (code: string, ...paths: string[]) => ({ code, where: { paths, points: [] } });

  test("stand at their part, and with the liner, the water, the tape or the pipe that they name", () => {
    const figures = { "lining.order.liners.pond.tapes.long.predicted": 12 };

    expect(isAbout(check("lining.waste", "lining.layout.liners.pond.ordered_area"), pond, "size", figures)).toBe(true);
    expect(isAbout(check("lining.waste", "lining.layout.liners.pool.ordered_area"), pond, "size", figures)).toBe(false);
    expect(isAbout(check("lining.edge_low", "lining.rim.bodies.pool.lows"), pond, "edge", figures)).toBe(false);
    expect(isAbout(check("lining.tape", "lining.tapes.long.taped"), pond, "tapes", figures)).toBe(true);
    expect(isAbout(check("lining.tape", "lining.tapes.other.taped"), pond, "tapes", figures)).toBe(false);
  });

  test("one that no part is about stands among the rest, and one of another room nowhere", () => {
    expect(isAbout(check("lining.something_new"), pond, "rest")).toBe(true);
    expect(isAbout(check("lining.waste"), pond, "rest")).toBe(false);
    expect(isAbout(check("stone.waste"), pond, "rest")).toBe(false);
  });
});

test("an offcut says for what it is: patches by name, collars by their pipe, spare ones by their number", () => {
  const job: Job = { ...smallJob(), lining: { patches: { low: { name: "Low spot", place: { at: "point", east: 0, north: 0 } } }, penetrations: { drain: { name: "Drain", diameter: 0.1, place: { at: "point", east: 0, north: 0 } } } } };

  expect(usersOf(job, ["low", "collar_drain", "spare_1", "spare_2"])).toEqual(["Low spot", "the collar of Drain", "2 spare patches"]);
});

test("bare liner is drawn in runs round the shore, over its first place too", () => {
  const place = (at: number, bare: number) => ({ point: [at, 0] as const, bare, seen: false });
  const bare = ({ bare: width }: { readonly bare: number }): boolean => width > 0;

  expect(runsWhere([place(0, 1), place(1, 1), place(2, 0), place(3, 1), place(4, 0), place(5, 1)], bare)).toEqual([[[5, 0], [0, 0], [1, 0]]]);
  expect(runsWhere([place(0, 1), place(1, 1)], bare)).toEqual([[[0, 0], [1, 0], [0, 0]]]);
  expect(runsWhere([place(0, 0)], bare)).toEqual([]);
});
