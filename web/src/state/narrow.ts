/** Whether the window is as narrow as a phone. */

import { type ReadonlySignal, signal } from "./signal";

// Where there is no window there is nothing narrow: tests of what is written have none.
const query = globalThis.window?.matchMedia?.("(max-width: 800px)");
const held = signal(query?.matches ?? false);
query?.addEventListener("change", () => (held.value = query.matches));

export const narrow: ReadonlySignal<boolean> = held;
