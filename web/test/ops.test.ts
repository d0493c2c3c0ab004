import { expect, test } from "vitest";
import { type Json, type Op, applyOps, inverseOps, pointer } from "../src/state/ops";
import { undoOps } from "../src/state/session";

const job: Json = {
  name: "Mill Lane 4",
  site: { shots: { s1: { elevation: 30.5, code: "rim" }, s2: { elevation: 29 } } },
  shape: { bodies: { pond: { outline: { form: "ring", curve: { pegs: [1, 2, 3] } } } } },
};

function there(ops: readonly Op[]): void {
  const after = applyOps(job, ops);

  expect(applyOps(after, inverseOps(job, ops))).toEqual(job);
}

test("what an edit does not touch stays the same object", () => {
  const after = applyOps(job, [{ op: "replace", path: "/site/shots/s1/elevation", value: 31 }]) as typeof job & { shape: Json; site: { shots: { s2: Json } } };

  expect(after.shape).toBe((job as typeof after).shape);
  expect(after.site.shots.s2).toBe((job as typeof after).site.shots.s2);
});

test("the inverse brings back the very document", () => {
  there([{ op: "replace", path: "/site/shots/s1/elevation", value: 31 }]);
  there([{ op: "remove", path: "/site/shots/s1" }]);
  there([{ op: "add", path: "/site/shots/s3", value: { elevation: 1 } }, { op: "replace", path: "/site/shots/s3/elevation", value: 2 }]);
  there([{ op: "add", path: "/site/shots/s1/code", value: "floor" }]);
  there([{ op: "add", path: "/shape/bodies/pond/outline/curve/pegs/1", value: 9 }]);
  there([{ op: "add", path: "/shape/bodies/pond/outline/curve/pegs/-", value: 9 }]);
});

test("a section or a field that is left out of the document can be set, as on the server", () => {
  const after = applyOps(job, [
    { op: "add", path: "/shape/berms/pond", value: { body: "pond" } },
    { op: "replace", path: "/shape/bodies/pond/level", value: 30 },
    { op: "replace", path: "/site/frame/true_north", value: 0.1 },
    { op: "add", path: "/rules/shape.drowning", value: { accepted: true } },
  ]) as { shape: { berms: Json; bodies: { pond: { level: number } } } };

  expect(after.shape.berms).toEqual({ pond: { body: "pond" } });
  expect(after.shape.bodies.pond.level).toBe(30);
});

test("a row that is not there cannot be changed", () => {
  expect(() => applyOps(job, [{ op: "replace", path: "/site/shots/s9/elevation", value: 1 }])).toThrow();
  expect(() => applyOps(job, [{ op: "remove", path: "/shape/berms/pond" }])).toThrow();
  expect(() => applyOps(job, [{ op: "replace", path: "/shape/bodies/pond/islands/isle", value: {} }])).toThrow();
});

test("a failed test leaves everything as it was", () => {
  expect(() =>
    applyOps(job, [
      { op: "replace", path: "/name", value: "other" },
      { op: "test", path: "/site/shots/s1/elevation", value: 1 },
    ]),
  ).toThrow();
  expect((job as { name: string }).name).toBe("Mill Lane 4");
});

test("undo refuses to overwrite what somebody changed since", () => {
  const undo = undoOps(job, [{ op: "replace", path: "/name", value: "mine" }]);
  const theirs = applyOps(job, [{ op: "replace", path: "/name", value: "theirs" }]);

  expect(() => applyOps(theirs, undo)).toThrow();
});

test("a pointer escapes what would part it", () => {
  expect(pointer("rules", "a/b~c")).toBe("/rules/a~1b~0c");
});

test("lining and stone hold their rows one level deeper; the day of the pull is fields", () => {
  const lined = { ...(job as object), lining: { tapes: { long: { taped: 12 } } }, stone: { pieces: { p1: { length: 1 } } } } as Json;
  const edit: Op[] = [
    { op: "replace", path: "/lining/tapes/long/taped", value: 13 },
    { op: "remove", path: "/stone/pieces/p1" },
    { op: "add", path: "/lining/tapes/across", value: { taped: 8 } },
  ];

  expect(applyOps(applyOps(lined, edit), inverseOps(lined, edit))).toEqual(lined);
  expect(applyOps(job, [{ op: "replace", path: "/lining/pull/wind", value: 3 }])).toMatchObject({ lining: { pull: { wind: 3 } } });
  expect(() => applyOps(job, [{ op: "remove", path: "/lining/tapes/long" }])).toThrow();
  expect(() => applyOps(job, [{ op: "replace", path: "/stone/pieces/p1/mass", value: 90 }])).toThrow();
});
