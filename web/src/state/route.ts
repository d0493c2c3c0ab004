/** Which screen is open, told by the address behind the `#`. */

import { type Signal, signal } from "./signal";

export const SCREENS = ["plan", "tables", "papers", "field"] as const;

export type Screen = (typeof SCREENS)[number];
export type Route = { readonly at: "jobs" } | { readonly at: "job"; readonly id: string; readonly screen: Screen };

export const route: Signal<Route> = signal<Route>({ at: "jobs" });

/** Route that an address tells; anything unknown is the list of jobs. */
export function routeOf(hash: string): Route {
  const found = /^#\/job\/([\w-]+)(?:\/(\w+))?$/.exec(hash);
  if (!found) return { at: "jobs" };
  const screen = SCREENS.find((one) => one === found[2]) ?? "plan";
  return { at: "job", id: found[1] as string, screen };
}

/** Address of a screen of a job. */
export function jobAddress(id: string, screen: Screen = "plan"): string {
  return `#/job/${id}/${screen}`;
}

/** Follow the address bar from now on. */
export function followAddress(): void {
  const read = (): void => {
    route.value = routeOf(window.location.hash);
  };
  window.addEventListener("hashchange", () => {
    read();
    // Another screen begins at its top.
    window.scrollTo(0, 0);
  });
  read();
}
