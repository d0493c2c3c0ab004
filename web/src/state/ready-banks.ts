/** Banks to begin with, from the very table that the command reads: each is copied into the job, and bent there. */

import banksTable from "../../../src/pondwright/job/tables/banks.csv?raw";
import type { BankType, Job } from "../api/types";
import { rowsOf } from "../format/csv-rows";
import { type Json, type Op, pointer } from "./ops";

export const READY_BANKS: ReadonlyMap<string, BankType> = ready();

/** Bank types that a stretch may have: those of the job, then the ready ones that the job lacks. */
export function banksToChoose(job: Job): readonly (readonly [string, string])[] {
  const own = job.shape.bank_types ?? {};
  return [
    ...Object.entries(own).map(([id, type]) => [id, type.name || id] as const),
    ...[...READY_BANKS].filter(([id]) => !(id in own)).map(([id, type]) => [id, type.name ?? id] as const),
  ];
}

/** What puts a bank type into the job that it names, if the job lacks it. */
export function bankTypeOps(job: Job, id: string): Op[] {
  const ready = READY_BANKS.get(id);
  return ready === undefined || id in (job.shape.bank_types ?? {}) ? [] : [{ op: "add", path: pointer("shape", "bank_types", id), value: ready as unknown as Json }];
}

function ready(): Map<string, BankType> {
  const found = new Map<string, { name: string; points: { distance: number; depth: number }[]; zone_names: string[] }>();
  for (const row of rowsOf(banksTable)) {
    const id = row["bank"] ?? "";
    const bank = found.get(id) ?? { name: row["name"] ?? id, points: [], zone_names: [] };
    bank.points.push({ distance: Number(row["distance"]), depth: Number(row["depth"]) });
    bank.zone_names.push(row["zone_after"] ?? "");
    found.set(id, bank);
  }
  return found;
}
