/** Whether the hauls are drawn on the plan; the chooser of layers and the page of the soil share it. */

import { type Signal, signal } from "./signal";

export const haulsShown: Signal<boolean> = signal(false);
