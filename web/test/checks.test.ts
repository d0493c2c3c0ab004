import { expect, test } from "vitest";
import type { Finding, Grade } from "../src/api/types";
import { ON_SHOW, flagged, numbered } from "../src/state/checks";

function finding(code: string, grade: Grade, value: number | null = null, accepted = ""): Finding {
  return { code, grade, says: code, where: { paths: [], points: [] }, value, limit: value === null ? null : 1, operator: "<", kind: "ratio", source: null, advice: [], assumes: [], accepted };
}

test("open stops come first, then open looks by how far they are from the limit; only they have numbers", () => {
  const checks = [
    finding("fine", "good", 0.5),
    finding("near", "look", 1.1),
    finding("known", "stop", 9, "Ann: agreed"),
    finding("far", "look", 3),
    finding("worst", "stop", 2),
  ];

  const found = numbered(checks);

  expect(found.map(({ finding: { code } }) => code)).toEqual(["worst", "far", "near", "known", "fine"]);
  expect(found.map(({ number }) => number)).toEqual([1, 2, 3, 0, 0]);
});

test("two checks of one code keep different keys", () => {
  const keys = numbered([finding("slope", "look"), finding("slope", "look")]).map(({ key }) => key);

  expect(new Set(keys).size).toBe(2);
});

test("the plan flags every stop, and of the looks the first ones of the room that is open", () => {
  const looks = Array.from({ length: 9 }, (_, at) => finding(`earth.look_${at}`, "look"));
  const checks = [finding("lining.rim", "stop"), finding("shape.reach", "look"), ...looks, finding("shape.fine", "good")];
  const codes = (...open: Parameters<typeof flagged>[1]) => flagged(checks, open).map(({ finding: { code } }) => code);

  expect(codes({ kind: "shape" })).toEqual(["lining.rim", "shape.reach"]);
  expect(codes({ kind: "earth" })).toHaveLength(1 + ON_SHOW);
  expect(codes()).toHaveLength(1 + ON_SHOW);
  expect(codes({ kind: "checks" })).toHaveLength(11);
  const last = numbered(checks).find(({ finding: { code } }) => code === "earth.look_8");
  expect(codes({ kind: "shape" }, { kind: "check", key: last?.key ?? "" })).toEqual(["lining.rim", "shape.reach", "earth.look_8"]);
});
