/** Areas between two lines, for hatching what is dug and what is raised. Pure; metres. */

export type Corner = readonly [station: number, height: number];

/** Areas where one line lies above another, each a ring of corners, cut where the lines cross. */
export function areasBetween<T extends { readonly station: number }>(
  places: readonly T[],
  upper: (place: T) => number,
  lower: (place: T) => number,
): Corner[][] {
  const areas: { top: Corner[]; bottom: Corner[] }[] = [];
  let open: { top: Corner[]; bottom: Corner[] } | null = null;
  let before: T | null = null;
  for (const place of places) {
    const gap = upper(place) - lower(place);
    const gapBefore = before ? upper(before) - lower(before) : 0;
    if (!open && gap > 0) areas.push((open = { top: [], bottom: [] }));
    if (open && before && gap > 0 !== gapBefore > 0) {
      const meeting = crossing(before, place, gapBefore / (gapBefore - gap), upper);
      open.top.push(meeting);
      open.bottom.push(meeting);
    }
    if (gap > 0) {
      open?.top.push([place.station, upper(place)]);
      open?.bottom.push([place.station, lower(place)]);
    } else open = null;
    before = place;
  }
  return areas.map(({ top, bottom }) => [...top, ...bottom.reverse()]);
}

function crossing<T extends { readonly station: number }>(from: T, to: T, share: number, height: (place: T) => number): Corner {
  return [
    from.station + share * (to.station - from.station),
    height(from) + share * (height(to) - height(from)),
  ];
}
