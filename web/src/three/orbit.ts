/** Where the eye stands: turned about a place, kept above the ground. Pure. */

export interface Eye {
  /** Turn about the upright, 0 = from the south, counter-clockwise seen from above [rad]. */
  readonly turn: number;
  /** Height of the eye over the level of the place [rad]. */
  readonly tilt: number;
  /** Distance from the place, in sizes of the site. */
  readonly distance: number;
}

export const FROM_SOUTH: Eye = { turn: -0.45, tilt: 0.62, distance: 1.6 };
export const FROM_ABOVE: Eye = { turn: 0, tilt: 1.5, distance: 1.5 };

const TURN_STEP = Math.PI / 24;
const TILT_REACH = [0.06, 1.5] as const;
const DISTANCE_REACH = [0.15, 5] as const;

/** The eye after a key, or null when the key does not move it. */
export function turnedByKey(eye: Eye, key: string): Eye | null {
  if (key === "ArrowLeft") return turned(eye, -TURN_STEP, 0);
  if (key === "ArrowRight") return turned(eye, TURN_STEP, 0);
  if (key === "ArrowUp") return turned(eye, 0, TURN_STEP);
  if (key === "ArrowDown") return turned(eye, 0, -TURN_STEP);
  if (key === "+" || key === "=") return nearer(eye, 1.2);
  if (key === "-") return nearer(eye, 1 / 1.2);
  if (key === "Home") return FROM_SOUTH;
  return null;
}

/** The eye turned about the place and lifted. */
export function turned(eye: Eye, turn: number, tilt: number): Eye {
  return { ...eye, turn: eye.turn + turn, tilt: clamp(eye.tilt + tilt, TILT_REACH) };
}

/** The eye brought nearer by a factor. */
export function nearer(eye: Eye, factor: number): Eye {
  return { ...eye, distance: clamp(eye.distance / factor, DISTANCE_REACH) };
}

/** East, north and up from the place to the eye, for a site of a size. */
export function offsetOf({ turn, tilt, distance }: Eye, size: number): readonly [number, number, number] {
  const away = distance * size;
  const flat = away * Math.cos(tilt);
  return [flat * Math.sin(turn), -flat * Math.cos(turn), away * Math.sin(tilt)];
}

function clamp(value: number, [low, high]: readonly [number, number]): number {
  return Math.min(Math.max(value, low), high);
}
