/** What the frames tell of the ground, the water and what lies on it, kept until it is told anew. Metres. */

import type { Frame } from "../api/frame";
import { levelOf } from "../charts/heights";
import { type RimTold, rimsOf } from "../plan/lining-fields";
import { type Reach, reachesOf } from "../plan/reaches";
import { ringsOf, sampledRing } from "../plan/rings";
import { type StoneRun, runsTold } from "../plan/stone-fields";
import type { Session } from "../state/session";
import { type Guess, guessOf, rounded } from "./guessed";
import type { Water } from "./seats";
import type { Surface } from "./terrain";

/** Arrays that the picture asks for. */
export const ARRAYS = ["z", "ground", "known", "part", "streams", "views", "liner_rim", "stone_runs"] as const;

export class RoundModel {
  part: Surface | null = null;
  rims: readonly RimTold[] = [];
  runs: readonly StoneRun[] = [];
  guess: Guess | null = null;
  private old: Surface | null = null;
  private fresh: Surface | null = null;
  private known: Surface | null = null;
  private guessedFrom: readonly unknown[] = [];
  private reaches: readonly Reach[] = [];

  take(frame: Frame): void {
    const { grid } = frame.header;
    const { z, ground, known, part, streams_points: points, streams_starts: starts, streams_levels: levels } = frame.fields;
    this.rims = rimsOf(frame) ?? this.rims;
    this.runs = runsTold(frame) ?? this.runs;
    if (grid && part?.shape[1] === grid.columns) this.part = { field: part, grid };
    if (grid && known?.shape[1] === grid.columns) this.known = { field: known, grid };
    if (points && starts && levels) this.reaches = reachesOf({ field: points, head: points.head, grid }, { field: starts, head: starts.head, grid }, { field: levels, head: levels.head, grid });
    if (grid && z?.shape[1] === grid.columns) this.fresh = { field: z, grid };
    if (grid && ground?.shape[1] === grid.columns) this.old = { field: ground, grid };
  }

  /** The ground as it is to be, or as it is where nothing is drawn yet. */
  get told(): Surface | null {
    return this.fresh ?? this.old;
  }

  /** The same, and the ground of before, as they are drawn: guessed ground without its jumps. */
  drawn(): { readonly surface: Surface; readonly old: Surface | null } | null {
    const { told, old, guess } = this;
    if (told === null) return null;
    return old && guess ? { surface: rounded(told, old, guess), old: rounded(old, old, guess) } : { surface: told, old };
  }

  /** Ground that is guessed is looked at again when it or the survey has changed. */
  guessAgain(): void {
    const { old, known } = this;
    if (!old || !known || (old.field === this.guessedFrom[0] && known.field === this.guessedFrom[1])) return;
    this.guessedFrom = [old.field, known.field];
    const fits = known.grid.columns === old.grid.columns && known.grid.rows === old.grid.rows;
    this.guess = fits ? guessOf(old, known) : null;
  }

  /** Water of each pond, and of each reach of a stream. */
  waters({ shown: { value: job }, figures }: Session): Water[] {
    if (!job) return [];
    const rings = ringsOf(job).filter(({ open }) => !open);
    const streams = this.reaches.filter(({ body }) => job.shape.bodies?.[body]?.outline.form === "corridor");
    const ponds = Object.keys(job.shape.bodies ?? {}).flatMap((body): Water[] => {
      const level = levelOf(job, figures.value, body);
      const own = rings.filter((ring) => ring.body === body).map((ring) => sampledRing(ring)?.points ?? []);
      return level === null || own.length === 0 ? [] : [{ body, rings: own, level }];
    });
    return [...ponds, ...streams.map(({ body, ring, level }) => ({ body, rings: [ring], level }))];
  }
}
