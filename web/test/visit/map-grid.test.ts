import { expect, test } from "vitest";
import { gridOf, toGrid } from "../../src/geometry/map-grid";

const DEGREE = Math.PI / 180;

// Worked out with a general library of map projections.
test.each([
  [32632, 47.5, 8.2, 439749.42402102624, 5261039.862529668],
  [32755, -35.3, 149.1, 690940.7664910636, 6091664.695044808],
  [26918, 40.7, -74.0, 584482.3522828849, 4505935.869332242],
])("code %i: %f° %f° lies where a library of projections puts it, to a millimetre", (epsg, latitude, longitude, east, north) => {
  const grid = gridOf(epsg);
  if (grid === null) throw new Error("no grid");

  const place = toGrid(grid, { latitude: latitude * DEGREE, longitude: longitude * DEGREE });

  expect(place.east).toBeCloseTo(east, 3);
  expect(place.north).toBeCloseTo(north, 3);
});

test("the middle of a zone at the equator is the false origin, and both sides of it are alike", () => {
  const grid = gridOf(32631);
  if (grid === null) throw new Error("no grid");
  const at = (longitude: number, latitude: number) => toGrid(grid, { latitude: latitude * DEGREE, longitude: longitude * DEGREE });

  expect(at(3, 0).east).toBeCloseTo(500_000, 6);
  expect(at(3, 0).north).toBe(0);
  expect(at(4, 50).east - 500_000).toBeCloseTo(500_000 - at(2, 50).east, 6);
  expect(at(4, 50).north).toBeCloseTo(at(2, 50).north, 6);
});

test("a code of another grid has none", () => {
  expect([4326, 2056, 32600, 32661, 32700].map(gridOf)).toEqual([null, null, null, null, null]);
});
