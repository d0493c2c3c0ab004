/** Arrays of frames that not every frame carries: the last one of a name is kept. */

import type { Field, Frame } from "../api/frame";

/** A reader that answers with the newest field of a name that any frame so far has carried. */
export function newest(name: string): (frame: Frame | null) => Field | null {
  let last: Field | null = null;
  return (frame) => {
    last = frame?.fields[name] ?? last;
    return last;
  };
}

/** A reader that answers with the newest fields of a name, one for each body, that any frame so far has carried. */
export function newestOfBodies(name: string): (frame: Frame | null) => readonly Field[] {
  let last: readonly Field[] = [];
  return (frame) => {
    const own = frame?.every.filter(({ head }) => head.name === name) ?? [];
    if (own.length > 0) last = own;
    return last;
  };
}

/** Rows of a table, each as numbers in the order of its columns. */
export function rowsOf(field: Field | null): number[][] {
  if (field === null) return [];
  const [count = 0, width = 0] = field.shape;
  return Array.from({ length: count }, (_, row) =>
    Array.from({ length: width }, (_, column) => field.data[row * width + column] as number),
  );
}
