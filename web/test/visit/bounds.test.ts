import { beforeAll, expect, test } from "vitest";
import type { Place } from "../../src/api/types";
import { FakeHand } from "../plan/fake-hand";
import { standIn } from "../fakes";

let places: typeof import("../../src/panels/bound-places");
let kinds: typeof import("../../src/plan/line-kinds");
let units: typeof import("../../src/format/units");
let choose: typeof import("../../src/plan/gestures/choose");
let pick: typeof import("../../src/plan/gestures/pick");

beforeAll(async () => {
  standIn();
  places = await import("../../src/panels/bound-places");
  kinds = await import("../../src/plan/line-kinds");
  units = await import("../../src/format/units");
  choose = await import("../../src/plan/gestures/choose");
  pick = await import("../../src/plan/gestures/pick");
});

test.each(["0 0\n10 0\n10 20", "0, 0\n10, 0\n10, 20", "0,0\n10,0\n10,20", "0\t0\n10\t0\n10\t20", "0; 0\n\n10; 0\n10 m; 2000 cm\n"])("%j are three places", (text) => {
  expect(places.placeOfText(text, false, "metric")).toEqual({ at: "line", points: [{ east: 0, north: 0 }, { east: 10, north: 0 }, { east: 10, north: 20 }] });
});

test("feet and inches may have a space in them where a comma parts the two", () => {
  const place = places.placeOfText(`10' 6", 20' 0"`, false, "us_inch");

  expect(place).toMatchObject({ at: "point" });
  expect((place as { east: number }).east).toBeCloseTo(10.5 * 0.3048, 9);
});

test("one place is a point; an area has corners, and needs three places", () => {
  expect(places.placeOfText("5 6", true, "metric")).toEqual({ at: "point", east: 5, north: 6 });
  expect(places.placeOfText("0 0\n1 1", true, "metric").at).toBe("line");
  const ring = places.placeOfText("0 0\n9 0\n9 9", true, "metric") as Extract<Place, { at: "ring" }>;
  expect(ring.curve.pegs.map(({ corner }) => corner)).toEqual([true, true, true]);
});

test.each([
  ["", "Write at least one place"],
  ["1 2\n3", "Line 2 must be two lengths"],
  ["1 2\n3 4 5", "Line 2 must be two lengths"],
  ["1 2\n3 high", "Line 2: "],
])("%j is refused with the line that is wrong", (text, says) => {
  expect(() => places.placeOfText(text, false, "metric")).toThrow(units.NotRead);
  expect(() => places.placeOfText(text, false, "metric")).toThrow(says);
});

test.each(["metric", "us", "us_inch"] as const)("a place whose text was not touched stays where it was to the last digit, in %s", (shown) => {
  const before = kinds.placeThrough([[1 / 3, 2 / 3], [100 / 7, 1e3 / 9], [-12.3456789, 0.1]], true);
  const text = places.textOfPlace(before, shown);

  expect(places.placeOfText(text, true, shown, before)).toEqual(before);
  expect(kinds.pointsThrough(places.placeOfText(text, true, shown))[1]?.[0]).toBeCloseTo(100 / 7, 1);
});

test("rows of the document hold only what was said", () => {
  const place = kinds.placeThrough([[0, 0], [1, 1]], false);

  expect(kinds.boundRow("flood", place, { name: "", clear: null })).toEqual({ kind: "flood", place, status: "existing" });
  expect(kinds.serviceRow("gas", place, { name: "To the grill", clear: null, depth: 0, isPrivate: true })).toEqual({
    kind: "utility", service: "gas", place, status: "existing", name: "To the grill", depth: 0, private: true,
  });
});

test("a place that was asked for is pressed; a drag from it tells the way one looked, clockwise from north", () => {
  const hand = new FakeHand(new pick.PickPlace(true));

  hand.tap([3, 4]);
  expect(hand.answers.at(-1)?.draft?.stand).toEqual({ place: [3, 4], bearing: null });
  hand.drag([0, 0], [5, 0]);

  const stand = hand.answers.at(-1)?.draft?.stand;
  expect(stand?.place).toEqual([0, 0]);
  expect(stand?.bearing).toBeCloseTo(Math.PI / 2, 9);
});

test("where no direction is asked for, a drag moves the plan", () => {
  const hand = new FakeHand(new pick.PickPlace(false));

  hand.drag([0, 0], [5, 0]);

  expect(hand.answers.some((answer) => answer.taken || answer.draft?.stand)).toBe(false);
});

test("a press on a line not to cross opens its row, one on a photo the photo", () => {
  const hand = new FakeHand(new choose.Choose(() => 0));
  const bounds = { edge: { kind: "boundary", place: kinds.placeThrough([[60, 0], [90, 0], [90, 30]], true) } } as const;
  hand.job = { ...hand.job, site: { ...hand.job.site, bounds } };
  hand.photos = [{ id: "gate", point: [70, 12] }];

  hand.tap([90, 15]);
  expect(hand.answers.at(-1)?.open).toEqual({ kind: "site-page", name: "bounds", row: "site.bounds.edge" });
  // The side that closes the area.
  hand.tap([75, 15]);
  expect(hand.answers.at(-1)?.open).toEqual({ kind: "site-page", name: "bounds", row: "site.bounds.edge" });
  hand.tap([70, 12]);
  expect(hand.answers.at(-1)?.open).toEqual({ kind: "photo", id: "gate" });
});
