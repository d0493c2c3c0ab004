/** What lies open beside the plan, and what the page has to say. */

import type { SitePoint } from "../geometry/types";
import { type Signal, signal } from "./signal";

export type Leaf =
  | { readonly kind: "site" | "shape" | "checks" | "defaults" | "history" | "shots" | "tray" | "bends" | "yard" }
  | { readonly kind: "earth" | "groundwater" | "liner" | "stone"; readonly row?: string }
  | { readonly kind: "check"; readonly key: string }
  | { readonly kind: "site-page"; readonly name: string; readonly row?: string }
  | { readonly kind: "photo"; readonly id: string }
  | { readonly kind: "figure"; readonly path: string };

/** Leaves opened one from another; the last one shows, and "back" goes to the one before. */
export const leaves: Signal<readonly Leaf[]> = signal<readonly Leaf[]>([]);

/** Places that the plan shows and rings, for example those of the check in hand. */
export const lit: Signal<readonly SitePoint[]> = signal<readonly SitePoint[]>([]);

/** One sentence for everybody, also read aloud. */
export const notice: Signal<string> = signal("");

/** One sentence that is only read aloud: what can be seen anyhow. */
export const spoken: Signal<string> = signal("");

/** Body of water whose numbers and boxes are shown. */
export const bodyInHand: Signal<string | null> = signal<string | null>(null);

/** Open a leaf on its own. */
export function openLeaf(leaf: Leaf): void {
  leaves.value = [leaf];
}

/** Open a leaf from another, so that "back" returns. */
export function openNext(leaf: Leaf): void {
  leaves.value = [...leaves.value, leaf];
}

export function closeLeaf(): void {
  leaves.value = leaves.value.slice(0, -1);
}

export function closeLeaves(): void {
  leaves.value = [];
}
