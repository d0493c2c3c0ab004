import { beforeAll, expect, test } from "vitest";
import type { WishOffer } from "../../src/api/types";
import { smallJob } from "../plan/fake-hand";
import { standIn } from "../fakes";

let wishes: typeof import("../../src/panels/wishes");

beforeAll(async () => {
  standIn();
  wishes = await import("../../src/panels/wishes");
});

const DEEP: WishOffer = { id: "depth", says: "It is at least this deep", figure: "shape.storage.bodies.*.greatest_depth", becomes: "", bound: "at_least", value: 1.5 };
const SHALLOW: WishOffer = { ...DEEP, id: "shallow", says: "It is nowhere deeper than this", bound: "at_most", value: 0.6 };
const CLEAR: WishOffer = { id: "from_line", says: "It stays clear of that line", figure: "site.clearances.bounds.*.clearance", becomes: "", bound: "at_least", value: 3 };
const STAYS: WishOffer = { id: "soil_stays", says: "All soil stays", figure: "", becomes: "earth.balance", bound: "", value: null };
const TRUCKS: WishOffer = { id: "trucks", says: "No more trucks than this", figure: "earth.soil.load_count", becomes: "", bound: "at_most", value: 0 };
const OFFERS = [DEEP, SHALLOW, CLEAR, STAYS, TRUCKS];

test("a wish about a figure holds its path, and its number on the side that was offered", () => {
  expect(wishes.tiedToFigure({ text: "To swim" }, DEEP, "pond", 2)).toEqual({ text: "To swim", figure: "shape.storage.bodies.pond.greatest_depth", at_least: 2 });
  expect(wishes.tiedToFigure({ text: "Safe" }, SHALLOW, "pond", 0.5)).toEqual({ text: "Safe", figure: "shape.storage.bodies.pond.greatest_depth", at_most: 0.5 });
});

test("a number may be nothing, which is not the same as none", () => {
  expect(wishes.tiedToFigure({ text: "No trucks" }, TRUCKS, "", 0)).toEqual({ text: "No trucks", figure: "earth.soil.load_count", at_most: 0 });
  expect(wishes.tiedToFigure({ text: "No trucks" }, TRUCKS, "", null)).toEqual({ text: "No trucks" });
});

test("tying it anew forgets what it was tied to, and keeps what else is known of it", () => {
  const tied = { ...wishes.tiedToFigure({ text: "To swim", note: "said twice" }, DEEP, "pond", 2) };

  expect(wishes.tiedToCheck(tied, "earth.balance")).toEqual({ text: "To swim", note: "said twice", becomes: "earth.balance" });
  expect(wishes.untied(tied)).toEqual({ text: "To swim", note: "said twice" });
});

test.each([DEEP, SHALLOW, CLEAR, TRUCKS])("what a wish was tied to is found again: $id", (offer) => {
  const wish = wishes.tiedToFigure({ text: "" }, offer, "pond", 1);

  expect(wishes.offerOf(wish, OFFERS)).toBe(offer);
  expect(wishes.numberOf(wish, offer)).toBe(1);
});

test("a check is found by its code; what is not offered is not found", () => {
  expect(wishes.offerOf({ text: "", becomes: "earth.balance" }, OFFERS)).toBe(STAYS);
  expect(wishes.offerOf({ text: "", becomes: "shape.cover" }, OFFERS)).toBeUndefined();
  expect(wishes.offerOf({ text: "", figure: "shape.storage.bodies.pond.volume", at_least: 1 }, OFFERS)).toBeUndefined();
  expect(wishes.offerOf({ text: "" }, OFFERS)).toBeUndefined();
});

test("the row of a figure stands where the offer has its star", () => {
  expect(wishes.rowOf(DEEP.figure, "shape.storage.bodies.wetland.greatest_depth")).toBe("wetland");
  expect(wishes.rowOf(DEEP.figure, "shape.storage.bodies.wetland.volume")).toBeNull();
});

test("an offer is about the rows of its kind; before any water is drawn, about the water that will be", () => {
  const job = smallJob();
  const dry = { ...job, shape: {} };

  expect(wishes.rowsFor(DEEP, job)?.map(([id]) => id)).toEqual(["pond"]);
  expect(wishes.rowsFor(DEEP, dry)?.map(([id]) => id)).toEqual(["pond"]);
  expect(wishes.rowsFor(CLEAR, job)).toEqual([]);
  expect(wishes.rowsFor(TRUCKS, job)).toBeNull();
});
