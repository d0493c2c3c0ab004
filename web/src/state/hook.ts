/** What browser tests may look at: only when the page was opened with `?test`. */

import type { Job } from "../api/types";
import type { ScreenPoint, SitePoint } from "../geometry/types";

export interface TestHook {
  job(): Job | null;
  rev(): number;
  state(): string;
  /** The plan puts these two in when it is mounted. */
  pixel(place: SitePoint): ScreenPoint | null;
  site(point: ScreenPoint): SitePoint | null;
  stats(): Readonly<Record<string, number>>;
}

declare global {
  interface Window {
    pondwright?: TestHook;
  }
}

export const isTest: boolean = new URLSearchParams(globalThis.location?.search ?? "").has("test");
