/** Shots as they are drawn: those that tapes, a base line, a grid or a level book tell stand where the server found them. */

import type { Job, Shot } from "../api/types";
import type { SitePoint } from "../geometry/types";
import type { Session } from "../state/session";
import { type Signal, effect, signal } from "../state/signal";
import type { Fields, Kept } from "./fields";

export interface Found {
  readonly point: SitePoint;
  /** None while no book tells it. */
  readonly elevation: number | null;
}

type Shots = Readonly<Record<string, Shot>>;

/** Places and heights that the server worked out, by shot. */
export const found: Signal<ReadonlyMap<string, Found>> = signal(new Map());

let drawn = new WeakMap<Shots, Shots>();
let drawnFor: ReadonlyMap<string, Found> = new Map();

/** Follow what the server finds; returns what stops it. */
export function followFound(session: Session, fields: Fields): () => void {
  session.want("places", true, "plan");
  const stop = effect(() => {
    const kept = fields.of("places").value;
    if (kept !== null) found.value = foundIn(kept);
  });
  return () => {
    stop();
    found.value = new Map();
  };
}

function foundIn({ field, head }: Kept): ReadonlyMap<string, Found> {
  return new Map(
    (head.ids ?? []).map((id, at) => {
      const [east, north, elevation] = [0, 1, 2].map((column) => field.data[3 * at + column] as number) as [number, number, number];
      return [id, { point: [east, north] as SitePoint, elevation: Number.isFinite(elevation) ? elevation : null }];
    }),
  );
}

/** Shots with the places that the plan draws them at. The same shots give the same answer, until the server finds others. */
export function drawnShots(shots: Shots): Shots {
  const places = found.value;
  if (places.size === 0) return shots;
  if (places !== drawnFor) drawn = new WeakMap();
  drawnFor = places;
  const known = drawn.get(shots);
  if (known) return known;
  const made = Object.fromEntries(Object.entries(shots).map(([id, shot]) => [id, shotAt(shot, places.get(id))]));
  drawn.set(shots, made);
  return made;
}

function shotAt(shot: Shot, at: Found | undefined): Shot {
  if (at === undefined) return shot;
  const place = shot.place.by === "coordinates" ? shot.place : ({ by: "coordinates", east: at.point[0], north: at.point[1] } as const);
  return { ...shot, place, elevation: shot.elevation ?? at.elevation };
}

/** A job whose shots stand where the plan draws them; for looking at, never for changing. */
export function drawnJob(job: Job): Job {
  const shots = job.site.shots ?? {};
  const placed = drawnShots(shots);
  return placed === shots ? job : { ...job, site: { ...job.site, shots: placed } };
}
