import { beforeAll, describe, expect, test, vi } from "vitest";
import { type Json, applyOps } from "../../src/state/ops";
import type { Job } from "../../src/api/types";
import { smallJob } from "../plan/fake-hand";

// The settings of the page are kept in the browser, which is not here.
beforeAll(() => vi.stubGlobal("localStorage", { getItem: () => null, setItem: () => {} }));

const job: Job = {
  ...smallJob(),
  site: {
    ...smallJob().site,
    soils: {
      meadow: { place: { at: "whole" }, layers: [{ kind: "topsoil", thickness: 0.2 }, { kind: "silt", bulking: 1.3 }] },
      seam: { place: { at: "point", east: 0, north: 0 }, layers: [{ kind: "silt" }, { kind: "sand" }] },
    },
  },
};
const after = (ops: Parameters<typeof applyOps>[1]): Job => applyOps(job as unknown as Json, ops) as unknown as Job;

describe("the user's own factor", () => {
  test("is one number for every layer of its kind, and leaves the others alone", async () => {
    const { factorOps, ownFactor } = await import("../../src/panels/factors");
    const changed = after(factorOps(job, "silt", "bulking", 1.22));

    expect(ownFactor(job, "silt", "bulking")).toBe("mixed");
    expect(ownFactor(changed, "silt", "bulking")).toBe(1.22);
    expect(ownFactor(changed, "topsoil", "bulking")).toBeNull();
    expect(changed.site.soils?.["meadow"]?.layers[0]).toEqual({ kind: "topsoil", thickness: 0.2 });
  });

  test("taken back leaves what is stated", async () => {
    const { factorOps, ownFactor } = await import("../../src/panels/factors");

    expect(ownFactor(after(factorOps(job, "silt", "bulking", null)), "silt", "bulking")).toBeNull();
    expect(factorOps(job, "rock", "bulking", 1.4)).toEqual([]);
  });
});

test("counted loads tell the loose volume of one in the bank", async () => {
  const { countedBulking } = await import("../../src/panels/soil-rows");

  expect(countedBulking({ bank: 80, loads: 10, box: 10 })).toBeCloseTo(1.25, 12);
});

test("ways to bend a shore are read with their pegs, and a refused one with its reason", async () => {
  const { bendsOf } = await import("../../src/panels/bends");
  const field = (variant: string, rows: readonly number[], says: readonly string[]) => ({
    head: { name: "bends", dtype: "float64" as const, shape: [rows.length / 3, 3], offset: 0, body: "pond", variant, ids: ["p1", "p2"], says },
    data: new Float64Array(rows), shape: [rows.length / 3, 3], scale: 1, zero: 0, columns: [],
  });
  const [one, other] = bendsOf([field("more_shore", [1, 2, 0, 3, 4, 1], ["More shore", ""]), field("rounder", [], ["Rounder", "it is round"])]);

  expect(one?.curve.pegs).toEqual([{ id: "p1", east: 1, north: 2 }, { id: "p2", east: 3, north: 4, corner: true }]);
  expect(other).toMatchObject({ variant: "rounder", refused: "it is round", curve: { pegs: [] } });
});
