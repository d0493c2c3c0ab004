/** What of the plan is shown. */

import { type Signal, effect, signal } from "../state/signal";
import { haulsShown } from "../state/soil-shown";
import { edgeShown, linedShown, linerShown } from "../state/liner-shown";
import { coverShown, stonesShown } from "../state/stone-shown";
import { followRooms } from "../state/room-shown";
import { flowShown, headsShown, routeShown, upliftStage } from "../state/water-shown";
import type { Session } from "../state/session";

export const GROUNDS = ["moved", "depth", "slope", "known", "sure", "muck", "rise", "uplift", "plain"] as const;
export type Ground = (typeof GROUNDS)[number];

export const LAYERS = [
  "photo", "old", "new", "banks", "crest", "pegs", "ways", "seen", "reach", "overflow", "shots", "clouds", "lines", "probes", "water", "next", "readings", "drains", "heads", "flow", "route", "liner", "edge", "lined", "treatments", "stones", "piles", "hauls", "things", "bounds", "services", "views", "checks",
] as const;
export type LayerName = (typeof LAYERS)[number];

/** Ground of the plan; the page of the groundwater colours it by what holds. */
export const groundShown: Signal<Ground> = signal<Ground>("moved");

const ARRAYS: Readonly<Record<Exclude<Ground, "uplift">, string | null>> = {
  moved: "dz", depth: "depth", slope: "slope", known: "known", sure: "sigma", muck: "muck", rise: "rise", plain: null,
};

export interface Shown {
  readonly ground: Signal<Ground>;
  readonly layers: Readonly<Record<LayerName, Signal<boolean>>>;
}

export function shownLayers(): Shown {
  const shared: Partial<Record<LayerName, Signal<boolean>>> = { hauls: haulsShown, heads: headsShown, flow: flowShown, route: routeShown, liner: linerShown, edge: edgeShown, lined: linedShown, treatments: coverShown, stones: stonesShown };
  const layers = Object.fromEntries(LAYERS.map((name) => [name, shared[name] ?? signal(true)]));
  return { ground: groundShown, layers: layers as Record<LayerName, Signal<boolean>> };
}

/** Name of the array that a ground is drawn from. */
export function arrayOf(ground: Ground): string | null {
  return ground === "uplift" ? `uplift_${upliftStage.value}` : ARRAYS[ground];
}

/** Ask the server for what is shown, and for no more; returns what stops it. */
export function askForShown(session: Session, { ground, layers }: Shown): () => void {
  const stops = [
    followRooms(session.id),
    wantOnly(session, () => arrayOf(ground.value)),
    effect(() => session.want("contours_old", layers.old.value, "plan")),
    effect(() => session.want("contours_new", layers.new.value, "plan")),
    effect(() => session.want("seen", layers.seen.value && session.selection.value?.kind === "seat", "plan")),
    effect(() => session.want("reach", layers.reach.value, "plan")),
    effect(() => session.want("overflow", layers.overflow.value, "plan")),
    effect(() => session.want("next_shots", layers.next.value, "plan")),
    effect(() => session.want("hauls", layers.hauls.value, "plan")),
    effect(() => session.want("piles", layers.piles.value, "plan")),
    effect(() => session.want("heads", layers.heads.value, "plan")),
    effect(() => session.want("flow", layers.flow.value, "plan")),
    effect(() => session.want("drains", layers.drains.value, "plan")),
    effect(() => session.want("routes", layers.route.value, "plan")),
    effect(() => session.want("stone_runs", layers.treatments.value, "plan")),
    effect(() => session.want("stone_areas", layers.treatments.value, "plan")),
    effect(() => session.want("stone_yard", layers.stones.value, "plan")),
    effect(() => session.want("stone_setting", layers.stones.value, "plan")),
    effect(() => session.want("liners", layers.liner.value, "plan")),
    effect(() => session.want("liner_rim", layers.edge.value, "plan")),
  ];
  return () => {
    for (const stop of stops) stop();
  };
}

/** Ask for the one array that is shown, and no longer for the one before. */
function wantOnly(session: Session, array: () => string | null): () => void {
  let asked: string | null = null;
  const ask = (next: string | null): void => {
    if (asked === next) return;
    if (asked !== null) session.want(asked, false, "plan");
    asked = next;
    if (next !== null) session.want(next, true, "plan");
  };
  const stop = effect(() => ask(array()));
  return () => {
    stop();
    ask(null);
  };
}
