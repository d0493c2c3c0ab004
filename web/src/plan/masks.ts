/** What each seat sees, as the server packs it: eight seats to a byte. */

import type { Field, FrameGrid } from "../api/frame";
import type { Job } from "../api/types";
import type { Kept } from "./fields";

/** Seats whose masks share the bits of one byte. */
const SEATS_IN_A_MASK = 8;

/** Name of the array that holds the mask of a seat; null where there is no such seat. */
export function maskName(job: Job | null, seat: string | null): string | null {
  const number = seat === null ? -1 : Object.keys(job?.shape.seats ?? {}).indexOf(seat);
  return number < 0 ? null : `seen_${Math.floor(number / SEATS_IN_A_MASK)}`;
}

/** What one seat sees, out of the bits of a group of seats; null while the group does not have it. */
export function maskOf({ field, head, grid }: Kept, seat: string): { readonly field: Field; readonly grid: FrameGrid } | null {
  const bit = head.ids?.indexOf(seat) ?? -1;
  if (bit < 0 || grid === null) return null;
  const data = Uint8Array.from(field.data, (byte) => (byte >> bit) & 1);
  return { field: { ...field, data }, grid };
}
