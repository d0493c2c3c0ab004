/**
 * What a hand does on the plan, apart from any browser: records of a pointer go in, answers come out.
 *
 * A gesture never touches the session.  It says what it wants (show these operations, make them for
 * good, choose this, draw that) and the hand carries it out.
 */

import type { Job, ShownUnits } from "../../api/types";
import type { ScreenPoint, SitePoint } from "../../geometry/types";
import type { Leaf } from "../../state/desk";
import type { Op } from "../../state/ops";
import type { Selection } from "../../state/session";
import type { Tool } from "../../state/tool";
import type { Haul } from "../hauls";
import type { Cut } from "./soil";

/** One record of the pointer. */
export interface Touch {
  readonly screen: ScreenPoint;
  readonly site: SitePoint;
  readonly coarse: boolean;
  readonly alt: boolean;
  readonly shift: boolean;
  readonly metresPerPixel: number;
}

/** One key that went down or up. */
export interface Key {
  readonly key: string;
  readonly shift: boolean;
  readonly up: boolean;
}

/** A flag of a check on the plan. */
export interface Flag {
  /** Key of the check. */
  readonly check: string;
  readonly point: SitePoint;
}

/** A photo on the plan, where it was taken. */
export interface PhotoMark {
  readonly id: string;
  readonly point: SitePoint;
}

/** What a gesture may know when it answers. */
export interface World {
  readonly job: Job;
  readonly selection: Selection | null;
  readonly units: ShownUnits;
  readonly flags: readonly Flag[];
  readonly photos?: readonly PhotoMark[];
  /** Arrows of the hauls that are shown. */
  readonly hauls?: readonly Haul[];
  /** The section that is cut. */
  readonly cut?: Cut | null;
}

/** Lines and places that are drawn while something is in the making. */
export interface Sketch {
  readonly places: readonly SitePoint[];
  readonly closed: boolean;
  readonly smooth: boolean;
}

/** Values that a box beside the plan completes before they become an edit. */
export interface Draft {
  readonly point?: SitePoint;
  readonly line?: readonly SitePoint[];
  readonly shots?: readonly string[];
  readonly stretch?: { readonly body: string; readonly ring: string; readonly start?: string; readonly end?: string };
  /** A place that was asked for, and which way one looks from it [rad]. */
  readonly stand?: { readonly place: SitePoint; readonly bearing: number | null };
  readonly tie?: { readonly from: SitePoint; readonly to?: SitePoint };
}

/** What is to be done; what is left out stays as it is. */
export interface Answer {
  /** The pointer is ours until it is up: the plan does not pan. */
  readonly taken?: boolean;
  /** Operations to show, or null for none. */
  readonly preview?: readonly Op[] | null;
  readonly commit?: { readonly label: string; readonly ops: readonly Op[] };
  readonly selection?: Selection | null;
  readonly sketch?: Sketch | null;
  readonly draft?: Draft | null;
  readonly section?: readonly SitePoint[] | null;
  /** Key of the check whose flag was pressed. */
  readonly check?: string;
  /** What is to lie open beside the plan. */
  readonly open?: Leaf;
  /** Place where the thing in hand now lies on something. */
  readonly mark?: SitePoint | null;
  readonly says?: string;
  /** Back to moving and choosing. */
  readonly done?: boolean;
}

export const NOTHING: Answer = {};

/** A gesture does what it needs of these. `tap` is a press that did not move, `drop` the end of one that did. */
export interface Gesture {
  readonly tool: Tool;
  /** What to do first, in words. */
  begin?(world: World): Answer;
  down?(touch: Touch, world: World): Answer;
  drag?(touch: Touch, world: World): Answer;
  drop?(touch: Touch, world: World): Answer;
  tap?(touch: Touch, world: World): Answer;
  /** The pointer moves with nothing pressed. */
  hover?(touch: Touch, world: World): Answer;
  key?(key: Key, world: World): Answer | null;
  /** Finish with what is there, as Enter does. */
  finish?(world: World): Answer;
  cancel?(world: World): Answer;
}

const MOUSE_PX = 12;
const TOUCH_PX = 22;

/** Half the size of what a press must hit, in metres: targets are 24 px for a mouse, 44 px for a finger. */
export function target(touch: Touch): number {
  return touch.metresPerPixel * (touch.coarse ? TOUCH_PX : MOUSE_PX);
}
