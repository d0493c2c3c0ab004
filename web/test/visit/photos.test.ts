import { beforeAll, expect, test, vi } from "vitest";
import type { PhotoEntry } from "../../src/api/types";
import { standIn } from "../fakes";

let photos: typeof import("../../src/state/photos");
let upload: typeof import("../../src/state/upload");

beforeAll(async () => {
  standIn();
  photos = await import("../../src/state/photos");
  upload = await import("../../src/state/upload");
});

function photo(id: string, time: string, repeats?: string): PhotoEntry {
  return { kind: "photo", id, time, ...(repeats ? { repeats } : {}) };
}

const BEFORE = photo("a", "2027-03-01T08:00:00Z");
const DUG = photo("b", "2027-05-01T08:00:00Z", "a");
const DONE = photo("c", "2027-08-01T08:00:00Z", "b");
const OTHER = photo("d", "2027-04-01T08:00:00Z");
const ALL = [DONE, OTHER, DUG, BEFORE];

test("photos stand in the order in which they were taken, whatever their time zone", () => {
  const evening = photo("e", "2027-03-01T09:30:00+02:00");

  expect(photos.byTime([...ALL, evening]).map(({ id }) => id)).toEqual(["e", "a", "d", "b", "c"]);
});

test.each(["a", "b", "c"])("all photos from one spot are found from %s, through whatever repeats it", (id) => {
  expect(photos.sameSpot(ALL, id).map((one) => one.id)).toEqual(["a", "b", "c"]);
});

test("a photo that repeats nothing that is there, or itself, stands alone", () => {
  const adrift = photo("x", "2027-03-01T08:00:00Z", "gone");
  const itself = photo("y", "2027-03-01T08:00:00Z", "y");

  expect(photos.sameSpot([...ALL, adrift, itself], "x")).toEqual([adrift]);
  expect(photos.sameSpot([...ALL, adrift, itself], "y")).toEqual([itself]);
  expect(photos.sameSpot(ALL, "gone")).toEqual([]);
});

test("the photos of a job that was left do not come back late", async () => {
  let answer: (body: object) => void = () => undefined;
  vi.stubGlobal("fetch", () => new Promise((done) => (answer = (body) => done({ ok: true, json: async () => body }))));
  const asked = photos.fetchPhotos("left");

  photos.forgetPhotos();
  answer({ photos: [BEFORE] });
  await asked;

  expect(photos.photos.value).toEqual([]);
});

test("two windows give different names to their photos", () => {
  expect(photos.entryId()).not.toBe(photos.entryId());
  expect(photos.entryId()).toMatch(/^[A-Za-z0-9_-]{1,64}$/);
});

test("a picture is made smaller to its longer side, keeps its shape, and is never made larger", () => {
  expect(upload.fitted({ width: 5120, height: 3840 })).toEqual({ width: 2560, height: 1920 });
  expect(upload.fitted({ width: 3000, height: 6000 })).toEqual({ width: 1280, height: 2560 });
  expect(upload.fitted({ width: 800, height: 600 })).toEqual({ width: 800, height: 600 });
  expect(upload.fitted({ width: 100_000, height: 3 })).toEqual({ width: 2560, height: 1 });
});

test("small photos that the server takes go as they are", () => {
  const mega = 1024 * 1024;

  expect(upload.goesAsItIs({ size: 6 * mega, type: "image/jpeg" })).toBe(true);
  expect(upload.goesAsItIs({ size: 6 * mega + 1, type: "image/jpeg" })).toBe(false);
  expect(upload.goesAsItIs({ size: 1000, type: "image/webp" })).toBe(false);
});
