/** Colours of the ground: what was dug and raised, what one walks on, what is guessed. */

import { Color } from "three";
import type { Ink } from "../charts/ink";
import type { SitePoint } from "../geometry/types";
import { isInside } from "../plan/plane";
import type { Corner3 } from "./built";
import { type Guess, guessedShare } from "./guessed";
import { type Surface, type Terrain, heightNear } from "./terrain";

/** Soil moved by so much or more has the full colour [m]. */
const FULL_COLOUR = 0.8;
/** Differences below this are noise of whole centimetres [m]. */
const UNMOVED = 0.015;
/** Code of the server for a node on a way. */
const ON_A_WAY = 4;
/** Ground that nobody has shot is so much nearer to the paper. */
const PALER = 0.45;
/** From a seat the colours of digging and raising are seen so faintly. */
const FAINT = 0.45;

/** What gives the ground its colours. */
export interface Coloured {
  readonly old: Surface | null;
  /** Areas that one walks on: which nodes are part of what, and their outlines. */
  readonly areas: { readonly part: Surface; readonly rings: readonly (readonly SitePoint[])[] } | null;
  readonly guess: Guess | null;
  readonly faint: boolean;
}

/** Red, green and blue of each node of a terrain. */
export function coloursOf({ positions }: Terrain, origin: Corner3, { old, areas, guess, faint }: Coloured, ink: Ink): Float32Array {
  const earth = new Color(ink["paper-2"]).lerp(new Color(ink.contour), 0.25);
  const [dug, raised, paper, way] = [new Color(ink["dig-2"]), new Color(ink["raise-2"]), new Color(ink.paper), wayColour(ink)];
  const strength = 0.8 * (faint ? FAINT : 1);
  const colours = new Float32Array(positions.length);
  const here = new Color();
  for (let at = 0; at < positions.length; at += 3) {
    const [east, north] = [(positions[at] as number) + origin[0], (positions[at + 1] as number) + origin[1]];
    const height = (positions[at + 2] as number) + origin[2];
    const moved = old ? height - heightNear(old, east, north) : 0;
    here.copy(earth);
    if (Math.abs(moved) > UNMOVED) here.lerp(moved < 0 ? dug : raised, Math.min(1, 0.3 + Math.abs(moved) / FULL_COLOUR) * strength);
    if (guess) here.lerp(paper, PALER * guessedShare(guess, east, north));
    if (areas && heightNear(areas.part, east, north) === ON_A_WAY && areas.rings.some((ring) => isInside(ring, [east, north]))) here.copy(way);
    here.toArray(colours, at);
  }
  return colours;
}

/** Colour of what one walks on. */
export function wayColour(ink: Ink): Color {
  return new Color(ink["paper-2"]).lerp(new Color(ink.ink), 0.6);
}
