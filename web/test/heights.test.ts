import { describe, expect, test } from "vitest";
import type { Job } from "../src/api/types";
import { dragged, freeboardOf, freeboardOps, keyed, levelOf, levelOps, onStep } from "../src/charts/heights";
import { type Json, applyOps } from "../src/state/ops";

const job = {
  shape: { bodies: { pond: { level: 30, keep_balanced: false }, pool: { keep_balanced: true } }, berms: { ring: { body: "pond", freeboard: 0.25 } } },
} as unknown as Job;
const figures = {
  "shape.shore.bodies.pond.level": 29.5,
  "shape.shore.bodies.pool.level": 31,
  "shape.shore.bodies.pool.crest_level": 31.3,
};

describe("a height in hand", () => {
  test("is what the document says before what the server worked out", () => {
    expect(levelOf(job, figures, "pond")).toBe(30);
    expect(levelOf(job, figures, "pool")).toBe(31);
    expect(levelOf(job, figures, "gone")).toBeNull();
  });

  test("of a berm that says none is the server's crest over its level", () => {
    expect(freeboardOf(job, figures, "pond")).toBe(0.25);
    expect(freeboardOf(job, figures, "pool")).toBe(0.3);
  });

  test("follows the pointer upwards", () => {
    expect(dragged(30, 10, 0.01, "metric")).toBeCloseTo(30.1);
    expect(dragged(30, -10, 0.01, "metric")).toBeCloseTo(29.9);
  });

  test("stops at steps that can be read: millimetres to metres, hundredths of a foot, parts of an inch", () => {
    const inches = dragged(30.003, 3, 0.006, "us_inch") / 0.0254;
    const feet = dragged(30.003, 3, 0.006, "us") / 0.3048;

    expect(dragged(30.003, 3, 0.008, "metric") / 0.005).toBeCloseTo(Math.round(30.027 / 0.005), 6);
    expect(inches * 8).toBeCloseTo(Math.round(inches * 8), 3);
    expect(feet * 100).toBeCloseTo(Math.round(feet * 100), 3);
  });

  test("moves by keys, ten times as far with Shift or by page", () => {
    expect(keyed(30, "ArrowUp", false, "metric")).toBeCloseTo(30.005);
    expect(keyed(30, "ArrowDown", true, "metric")).toBeCloseTo(29.95);
    expect(keyed(30, "PageUp", false, "metric")).toBeCloseTo(30.05);
    expect(keyed(30, "x", false, "metric")).toBeNull();
  });

  test("has no noise of the division", () => {
    expect(onStep(0.1 + 0.2, 0.1)).toBe(0.3);
  });
});

describe("what a moved height means", () => {
  const after = (ops: ReturnType<typeof levelOps>) => applyOps(job as unknown as Json, ops) as unknown as Job;

  test("a level is set on its body", () => {
    expect(after(levelOps(job, "pond", 30.2)).shape.bodies?.["pond"]?.level).toBe(30.2);
  });

  test("a level set by hand is no longer kept balanced", () => {
    expect(after(levelOps(job, "pool", 31.2)).shape.bodies?.["pool"]).toMatchObject({ level: 31.2, keep_balanced: false });
  });

  test("a freeboard is set on the berm of the body", () => {
    expect(after(freeboardOps(job, "pond", 0.4)).shape.berms?.["ring"]).toEqual({ body: "pond", freeboard: 0.4 });
  });

  test("a body without a berm gets one under a free name", () => {
    const full = { shape: { ...job.shape, berms: { pool_berm: { body: "pond" } } } } as unknown as Job;

    expect(freeboardOps(full, "pool", 0.4)).toEqual([
      { op: "add", path: "/shape/berms/pool_berm2", value: { body: "pool", freeboard: 0.4 } },
    ]);
  });
});
