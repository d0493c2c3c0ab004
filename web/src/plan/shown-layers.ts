/** What of the plan is shown. */

import { type Signal, effect, signal } from "../state/signal";
import { haulsShown } from "../state/soil-shown";
import type { Session } from "../state/session";

export const GROUNDS = ["moved", "depth", "slope", "known", "sure", "muck", "rise", "plain"] as const;
export type Ground = (typeof GROUNDS)[number];

export const LAYERS = [
  "photo", "old", "new", "banks", "crest", "pegs", "ways", "seen", "reach", "overflow", "shots", "clouds", "lines", "probes", "water", "next", "piles", "hauls", "things", "bounds", "services", "views", "checks",
] as const;
export type LayerName = (typeof LAYERS)[number];

const ARRAYS: Readonly<Record<Ground, string | null>> = {
  moved: "dz", depth: "depth", slope: "slope", known: "known", sure: "sigma", muck: "muck", rise: "rise", plain: null,
};

export interface Shown {
  readonly ground: Signal<Ground>;
  readonly layers: Readonly<Record<LayerName, Signal<boolean>>>;
}

export function shownLayers(): Shown {
  const layers = Object.fromEntries(LAYERS.map((name) => [name, name === "hauls" ? haulsShown : signal(true)]));
  return { ground: signal<Ground>("moved"), layers: layers as Record<LayerName, Signal<boolean>> };
}

/** Name of the array that a ground is drawn from. */
export function arrayOf(ground: Ground): string | null {
  return ARRAYS[ground];
}

/** Ask the server for what is shown, and for no more; returns what stops it. */
export function askForShown(session: Session, { ground, layers }: Shown): () => void {
  const stops = [
    effect(() => {
      for (const name of GROUNDS) {
        const array = arrayOf(name);
        if (array !== null) session.want(array, name === ground.value, "plan");
      }
    }),
    effect(() => session.want("contours_old", layers.old.value, "plan")),
    effect(() => session.want("contours_new", layers.new.value, "plan")),
    effect(() => session.want("seen", layers.seen.value && session.selection.value?.kind === "seat", "plan")),
    effect(() => session.want("reach", layers.reach.value, "plan")),
    effect(() => session.want("overflow", layers.overflow.value, "plan")),
    effect(() => session.want("next_shots", layers.next.value, "plan")),
    effect(() => session.want("hauls", layers.hauls.value, "plan")),
    effect(() => session.want("piles", layers.piles.value, "plan")),
  ];
  return () => {
    for (const stop of stops) stop();
  };
}
