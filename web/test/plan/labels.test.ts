import { describe, expect, test } from "vitest";
import { standIn } from "../fakes";

standIn();

const { MARK_BOX, middleAlong, onBox, placed, straightest, wordsOfPlan } = await import("../../src/plan/labels");
const { isBehind } = await import("../../src/plan/layers/flags");
const { wheelPlaces } = await import("../../src/plan/layers/wheels");

const words = (key: string, east: number, north = 0, sides: readonly ("right" | "left" | "below" | "above" | "on")[] = ["right", "left"]) => ({
  key, point: [east, north] as const, lines: ["Oak"], sides, gap: 10, from: 0.5,
});

describe("the words of the plan", () => {
  test("the more important words get their side first, the others another side, or none", () => {
    const { sides } = placed([words("first", 0), words("second", 0), words("third", 0)], [], 0.1);

    expect([...sides]).toEqual([["first", "right"], ["second", "left"]]);
  });

  test("keep off marks, and those that only stand there from nearer do not count from farther away", () => {
    const mark = { point: [3, 0] as const, box: MARK_BOX };

    expect(placed([words("one", 0)], [mark], 0.1).sides.get("one")).toBe("left");
    expect(placed([words("one", 0)], [{ ...mark, from: 0.05 }], 0.1).sides.get("one")).toBe("right");
    expect(placed([words("one", 0)], [], 0.6).sides.size).toBe(0);
  });

  test("are written in more lines only where they have no room in fewer, and stand clear below and above", () => {
    const long = { ...words("seat", 0, 0, ["right", "below"]), lines: ["Bench", "sees 62 %, 1 of 2 falls"], folded: ["Bench", "sees 62 %", "1 of 2 falls"] };
    const atPixel = (across: number, down: number) => ({ point: [across / 100, -down / 100] as const, box: MARK_BOX });
    const [far, beside, under] = [atPixel(120, 0), atPixel(30, 0), atPixel(-60, 24)];

    expect([...placed([long], [], 0.01).folded]).toEqual([]);
    const folded = placed([long], [far, under], 0.01);
    expect([folded.sides.get("seat"), folded.folded.has("seat")]).toEqual(["right", true]);
    const below = placed([long], [beside, under], 0.01);
    expect([below.sides.get("seat"), below.folded.has("seat")]).toEqual(["below", true]);
    expect(below.taken.at(-1)?.box).toMatchObject({ top: 10, bottom: 10 + 3 * 14 });
  });

  test("no two that are placed lie over one another, at any scale", () => {
    const many = Array.from({ length: 40 }, (_, at) => words(`w${at}`, (at * 7.3) % 31, (at * 3.1) % 17, ["below", "above", "right", "left"]));
    for (const resolution of [0.02, 0.1, 0.3, 0.5]) {
      const { taken, sides } = placed(many, [], resolution);
      expect(taken).toHaveLength(sides.size);
      taken.forEach((one, at) => {
        for (const other of taken.slice(at + 1)) {
          const [across, down] = [(other.point[0] - one.point[0]) / resolution, (one.point[1] - other.point[1]) / resolution];
          const apart = one.box.right < across + other.box.left || one.box.left > across + other.box.right || one.box.bottom < down + other.box.top || one.box.top > down + other.box.bottom;
          expect(apart).toBe(true);
        }
      });
    }
  });

  test("are placed once for each scale", () => {
    const plan = wordsOfPlan([words("one", 0)], []);

    expect(plan.at(0.1)).toBe(plan.at(0.1));
    expect(plan.at(0.2)).not.toBe(plan.at(0.1));
  });

  test("run along the longest straight part of a line, readable from left to right", () => {
    const line = [[0, 0], [2, 0], [2, -10], [2, -20]] as const;
    const { point, turn } = middleAlong(straightest(line));

    expect(point).toEqual([2, -10]);
    expect(turn).toBeCloseTo(Math.PI / 2, 9);
    expect(middleAlong([[10, 0], [0, 0]]).turn).toBeCloseTo(0, 9);
    expect(onBox("Oak", Math.PI / 2).bottom).toBeCloseTo(onBox("Oak").right, 9);
  });
});

test("of flags that would hide one another the more important keeps its number", () => {
  const flag = (number: number, east: number) => ({ check: `c${number}`, number, isStop: false, point: [east, 0] as const });
  const flags = [flag(1, 0), flag(2, 1), flag(3, 2.5)];

  expect(flags.map(({ number }) => isBehind(number, flags, 0.1))).toEqual([false, true, false]);
  expect(flags.map(({ number }) => isBehind(number, flags, 0.01))).toEqual([false, false, false]);
});

test("wheelchair places are read two numbers each", () => {
  const field = { data: Float32Array.from([1, 2, 3, 4]), shape: [2, 2], scale: 1, zero: 0 };

  expect(wheelPlaces({ field, head: { name: "reach_wheels" }, grid: null } as unknown as Parameters<typeof wheelPlaces>[0])).toEqual([[1, 2], [3, 4]]);
  expect(wheelPlaces(null)).toEqual([]);
});
