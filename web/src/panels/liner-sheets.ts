/** What belongs to the liner as tables: lengths taped in the hole, pipes through it, patches, guards. */

import type { Job } from "../api/types";
import { say } from "../format/words";
import { guardKinds, overWords } from "../plan/box-lining";
import type { Sheet } from "./sheet";
import { type Made, NAME, PLACE, column, rowsSheet } from "./water-sheets";

export const LINER_TABLES = ["tapes", "penetrations", "patches", "guards"] as const;
export type LinerTable = (typeof LINER_TABLES)[number];

export function isLinerTable(table: string): table is LinerTable {
  return (LINER_TABLES as readonly string[]).includes(table);
}

const STEMS = { tapes: "tape", penetrations: "penetration", patches: "patch", guards: "guard" } as const;

const MADE: Readonly<Record<LinerTable, () => Made>> = {
  tapes: () => ({ columns: [NAME(), column("taped", "liner.taped", "length"), column("note_of", "liner.tapedBy", "words")], needs: [], lacks: "liner.table.drawTape" }),
  penetrations: () => ({
    columns: [NAME(), ...PLACE(), column("diameter", "liner.pipeDiameter", "length", false), column("over", "liner.over", overWords())],
    needs: ["east", "north", "diameter"],
    lacks: "liner.table.needsPipe",
  }),
  patches: () => ({ columns: [NAME(), ...PLACE(), column("size", "liner.patchSize", "length")], needs: ["east", "north"], lacks: "liner.table.needsPlace" }),
  guards: () => ({ columns: [NAME(), column("kind", "liner.guardAgainst", guardKinds(), false), column("depth", "liner.guardDepth", "length", false)], needs: [], lacks: "liner.table.drawGuard" }),
};

export function linerSheet(job: Job, table: LinerTable): Sheet {
  const made = MADE[table]();
  const sheet = rowsSheet(job, ["lining", table], STEMS[table], made);
  // A line is drawn on the plan; its numbers can be typed here.
  return made.needs.length === 0 ? { ...sheet, lacks: () => say(made.lacks) } : sheet;
}

/** What a row of a table is when it is chosen on the plan. */
export function kindOfRows(table: LinerTable): (typeof STEMS)[LinerTable] {
  return STEMS[table];
}
