import { expect, test } from "vitest";
import vectors from "../../tests/vectors/curve.json";
import { closedCurve, closedSpans, openCurve, pointOn } from "../src/geometry/curve";
import { nearestOnCurve } from "../src/geometry/nearest";
import type { SitePoint } from "../src/geometry/types";

interface Case {
  readonly name: string;
  readonly closed: boolean;
  readonly points_per_span: number;
  readonly pegs: SitePoint[];
  readonly corners: boolean[];
  readonly points: SitePoint[];
}

test.each(vectors.cases as unknown as Case[])("the curve is the server's to 1e-9: $name", (one) => {
  const sampled = (one.closed ? closedCurve : openCurve)(one.pegs, one.corners, one.points_per_span);

  expect(sampled.points.length).toBe(one.points.length);
  const worst = Math.max(
    ...one.points.map(([east, north], at) => {
      const [x, y] = sampled.points[at] as SitePoint;
      return Math.max(Math.abs(x - east), Math.abs(y - north));
    }),
  );
  expect(worst).toBeLessThanOrEqual(1e-9);
});

test("the nearest place on the curve of a point that lies on it is that point", () => {
  const spans = closedSpans([[0, 0], [9, 1], [10, 8], [1, 7]], [false, true, false, false]);
  const span = spans[2];
  if (!span) throw new Error("no span");

  const found = nearestOnCurve(spans, pointOn(span, 0.37));

  expect(found?.peg).toBe(2);
  expect(found?.parameter).toBeCloseTo(0.37, 5);
  expect(found?.distance).toBeLessThan(1e-5);
});
