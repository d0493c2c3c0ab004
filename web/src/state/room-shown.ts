/** Layers that belong to a room: the plan shows them while the room is open, and again what it showed before when it is left. */

import { type Leaf, leaves } from "./desk";
import { linedShown, linerShown, edgeShown } from "./liner-shown";
import { narrow } from "./narrow";
import { type Signal, effect, untracked } from "./signal";
import { coverShown, stonesShown } from "./stone-shown";

interface Room {
  readonly leaves: ReadonlySet<Leaf["kind"]>;
  /** Turned on as soon as somebody enters. */
  readonly on: readonly Signal<boolean>[];
  /** Turned on by hand in the room, and left with it. */
  readonly may: readonly Signal<boolean>[];
}

const ROOMS: readonly Room[] = [
  { leaves: new Set(["liner"]), on: [linerShown, linedShown], may: [edgeShown] },
  { leaves: new Set(["stone", "yard"]), on: [coverShown, stonesShown], may: [] },
];

let jobBefore: string | null = null;

/** Show the layers of a room while it is open; a job that is opened anew begins without them. Returns what stops it. */
export function followRooms(job: string): () => void {
  if (jobBefore !== null && jobBefore !== job) {
    for (const { on, may } of ROOMS) for (const layer of [...on, ...may]) layer.value = false;
  }
  jobBefore = job;
  const stops = ROOMS.map(follow);
  return () => {
    for (const stop of stops) stop();
  };
}

function follow({ leaves: own, on, may }: Room): () => void {
  let before: readonly boolean[] | null = null;
  const all = [...on, ...may];
  const leave = (): void => {
    all.forEach((layer, at) => (layer.value = before?.[at] ?? layer.value));
    before = null;
  };
  const stop = effect(() => {
    const open = leaves.value.map(({ kind }) => kind);
    const isOpen = open.some((kind) => own.has(kind));
    // On a phone the plan is seen only when the room is closed: what it is about stays until another one opens.
    const stays = open.length === 0 && narrow.value;
    untracked(() => {
      if (isOpen && before === null) {
        before = all.map((layer) => layer.value);
        for (const layer of on) layer.value = true;
      } else if (!isOpen && before !== null && !stays) leave();
    });
  });
  return () => {
    stop();
    leave();
  };
}
