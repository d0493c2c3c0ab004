import { expect, test } from "vitest";
import { decodeFrame, fieldOfBody, valueOf } from "../src/api/frame";
import { frameBytes } from "./fakes";

const numbers = new Uint8Array(24);
new Int16Array(numbers.buffer, 0, 3).set([100, -250, 7]);
new Float64Array(numbers.buffer, 8, 2).set([1.5, 2.5]);

const header = {
  seq: 3, rev: 2, lod: 2, since: null, state: "moving", figures: { one: { a: 1, b: null } }, stages: {}, checks: [], grid: null,
  arrays: [
    { name: "z", dtype: "int16", shape: [3], offset: 0, scale: 0.01, zero: 20 },
    { name: "strip", dtype: "float64", shape: [1], offset: 8, body: "pond" },
    { name: "strip", dtype: "float64", shape: [1], offset: 16, body: "pool" },
  ],
};

test("arrays are read in place, in their own unit", () => {
  const frame = decodeFrame(frameBytes(header, numbers.buffer));
  const z = frame.fields["z"];
  if (!z) throw new Error("no z");

  expect([0, 1, 2].map((at) => valueOf(z, at))).toEqual([21, 17.5, 20.07]);
  expect(z.data.buffer.byteLength).toBeGreaterThan(24);
});

test("of several arrays with one name each body finds its own", () => {
  const frame = decodeFrame(frameBytes(header, numbers.buffer));

  expect(fieldOfBody(frame, "strip", "pool")?.data[0]).toBe(2.5);
  expect(frame.fields["strip"]?.data[0]).toBe(1.5);
  expect(fieldOfBody(frame, "strip", "elsewhere")?.data[0]).toBe(1.5);
});

test("what is no frame is refused", () => {
  expect(() => decodeFrame(new TextEncoder().encode("{\"type\":1}").buffer as ArrayBuffer)).toThrow("not a frame");
});

test("a frame tells what is new since the one before, and what is not stays the same object", () => {
  const first = decodeFrame(frameBytes({ ...header, figures: { one: { a: 1 }, two: { c: 3 } }, checks: [{ code: "x" }, { code: "y" }] }, numbers.buffer));
  const next = decodeFrame(frameBytes({ ...header, seq: 4, since: 3, figures: { one: { b: 2 } }, checks: [{ code: "z" }, 0, 1] }, numbers.buffer), first);
  const last = decodeFrame(frameBytes({ ...header, seq: 5, since: 4, figures: {}, checks: [0, 1, 2] }, numbers.buffer), next);

  expect(next.header.figures).toEqual({ one: { b: 2 }, two: { c: 3 } });
  expect(next.header.checks.map(({ code }) => code)).toEqual(["z", "x", "y"]);
  expect(next.header.checks[1]).toBe(first.header.checks[0]);
  expect(last.header.checks).toBe(next.header.checks);
});

test("a frame that goes on from another than the last is refused", () => {
  const first = decodeFrame(frameBytes(header, numbers.buffer));

  expect(() => decodeFrame(frameBytes({ ...header, seq: 5, since: 4 }, numbers.buffer), first)).toThrow("goes on from frame 4");
});
