import { expect, test } from "vitest";
import type { Finding, Grade } from "../src/api/types";
import { numbered } from "../src/state/checks";

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
