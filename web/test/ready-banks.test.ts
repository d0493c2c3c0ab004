import { expect, test } from "vitest";
import type { Job } from "../src/api/types";
import { READY_BANKS, bankTypeOps, banksToChoose } from "../src/state/ready-banks";

const job = { shape: { bank_types: { beach: { name: "Our own beach", points: [] } } } } as unknown as Job;

test("six banks are ready, each a section with a name for every zone", () => {
  expect([...READY_BANKS.keys()]).toEqual(["shelved", "beach", "planted", "wall", "deck", "wading"]);
  for (const { points, zone_names } of READY_BANKS.values()) {
    expect(points[0]).toEqual({ distance: 0, depth: 0 });
    expect(zone_names).toHaveLength(points.length);
  }
});

test("banks of the job come first, and a ready one that the job lacks is put into it", () => {
  expect(banksToChoose(job).map(([id]) => id)).toEqual(["beach", "shelved", "planted", "wall", "deck", "wading"]);
  expect(bankTypeOps(job, "beach")).toEqual([]);
  expect(bankTypeOps(job, "wading").map(({ op, path }) => [op, path])).toEqual([["add", "/shape/bank_types/wading"]]);
});
