import { beforeAll, expect, test } from "vitest";
import type { Job, WalkPoint } from "../../src/api/types";
import { smallJob } from "../plan/fake-hand";
import { standIn } from "../fakes";

let walk: typeof import("../../src/state/walk");

beforeAll(async () => {
  standIn();
  walk = await import("../../src/state/walk");
});

const LIST: readonly WalkPoint[] = [
  { id: "gate", group: "Getting in", ask: "How wide is the gate?" },
  { id: "power", group: "Services", ask: "What can the panel spare?" },
  { id: "turning", group: "Getting in", ask: "Where does a truck turn?" },
];

function jobWith(answers: NonNullable<Job["site"]["walk"]>): Job {
  const job = smallJob();
  return { ...job, site: { ...job.site, walk: answers } };
}

test("what nobody answered counts as not looked at, as does the answer that says so", () => {
  const points = walk.asked(jobWith({ gate: { answer: "fine" }, power: { answer: "not_looked" } }), LIST, "My own");

  expect(walk.progressOf(points)).toEqual({ looked: 1, of: 3, trouble: 0 });
});

test("“not there” was looked at, and trouble is counted by itself", () => {
  const points = walk.asked(jobWith({ gate: { answer: "none" }, power: { answer: "trouble" } }), LIST, "My own");

  expect(walk.progressOf(points)).toEqual({ looked: 2, of: 3, trouble: 1 });
});

test("the builder's own points come after the list, in a group of their own", () => {
  const points = walk.asked(jobWith({ own: { ask: "Where is the key?", answer: "fine" } }), LIST, "My own");

  expect(points.at(-1)).toMatchObject({ id: "own", ask: "Where is the key?", group: "My own", own: true });
  expect(walk.grouped(points).map(([group, some]) => [group, some.map(({ id }) => id)])).toEqual([
    ["Getting in", ["gate", "turning"]],
    ["Services", ["power"]],
    ["My own", ["own"]],
  ]);
});
