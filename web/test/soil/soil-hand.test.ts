import { describe, expect, test } from "vitest";
import { Choose } from "../../src/plan/gestures/choose";
import { DrawPile, movedSection, sectionPart } from "../../src/plan/gestures/soil";
import { FakeHand, smallJob } from "../plan/fake-hand";

const square = { pegs: [[50, 0], [60, 0], [60, 10], [50, 10]].map(([east, north], at) => ({ id: `p${at + 1}`, east: east as number, north: north as number, corner: true })) };
const job = {
  ...smallJob(),
  earth: {
    piles: { heap: { name: "Heap", place: { at: "point" as const, east: -30, north: 30 } }, field: { place: { at: "ring" as const, curve: square } } },
    off_site: { tip: { way: "export" as const, distance: 8000, gate: { at: "point" as const, east: 80, north: 80 } } },
  },
};
const choosing = (): FakeHand => new FakeHand(new Choose(() => 0), job);

describe("drawing a pile", () => {
  test("one press is a heap at a point", () => {
    const hand = new FakeHand(new DrawPile());
    hand.tap([-30, 30]);
    hand.press("Enter");

    expect(hand.job.earth?.piles).toEqual({ pile_1: { place: { at: "point", east: -30, north: 30 }, takes: "any" } });
    expect(hand.selection).toEqual({ kind: "pile", id: "pile_1" });
  });

  test("three presses or more are the ring that it may cover, one edit", () => {
    const hand = new FakeHand(new DrawPile());
    for (const place of [[50, 0], [60, 0], [60, 10], [50, 0]] as const) hand.tap(place);

    const place = hand.job.earth?.piles?.["pile_1"]?.place;
    expect(place?.at).toBe("ring");
    expect(place?.at === "ring" && place.curve.pegs.map(({ east, north }) => [east, north])).toEqual([[50, 0], [60, 0], [60, 10]]);
    expect(hand.labels).toHaveLength(1);
  });

  test("nothing pressed is no pile", () => {
    const hand = new FakeHand(new DrawPile());
    hand.press("Enter");

    expect(hand.labels).toEqual([]);
    expect(hand.says).toContain("Press");
  });
});

describe("moving piles and gates", () => {
  test("a heap and a gate are dragged by their marks, each one edit", () => {
    const hand = choosing();
    hand.drag([-30, 30], [-20, 36]);
    hand.drag([80, 80], [90, 70]);

    expect(hand.job.earth?.piles?.["heap"]?.place).toEqual({ at: "point", east: -20, north: 36 });
    expect(hand.job.earth?.off_site?.["tip"]?.gate).toEqual({ at: "point", east: 90, north: 70 });
    expect(hand.labels).toEqual(["move Heap", "move tip"]);
  });

  test("a ring is dragged whole from anywhere in it", () => {
    const hand = choosing();
    hand.drag([52, 8], [55, 12]);

    const place = hand.job.earth?.piles?.["field"]?.place;
    expect(place?.at === "ring" && place.curve.pegs.map(({ east, north }) => [east, north])).toEqual([[53, 4], [63, 4], [63, 14], [53, 14]]);
  });

  test("a chosen heap goes where the next press is, without a drag", () => {
    const hand = choosing();
    hand.tap([-30, 30]);
    hand.tap([-34, 38]);

    expect(hand.job.earth?.piles?.["heap"]?.place).toEqual({ at: "point", east: -34, north: 38 });
  });

  test("a finger pans over a heap until it is chosen", () => {
    const hand = choosing();
    hand.drag([-30, 30], [-20, 30], { coarse: true });
    expect(hand.labels).toEqual([]);

    hand.tap([-30, 30], { coarse: true });
    hand.drag([-30, 30], [-20, 30], { coarse: true });
    expect(hand.labels).toEqual(["move Heap"]);
  });

  test("the chosen pile is taken out by Delete", () => {
    const hand = choosing();
    hand.tap([-30, 30]);
    hand.press("Delete");

    expect(Object.keys(hand.job.earth?.piles ?? {})).toEqual(["field"]);
  });
});

describe("the line of a section", () => {
  const cut = { line: [[0, -5], [10, -5], [20, -5]] as const, id: null };

  test("is taken by its places or as a whole, and not from beside it", () => {
    expect(sectionPart(cut, [20.2, -5], 0.5)).toBe(2);
    expect(sectionPart(cut, [5, -5.3], 0.5)).toBe(-1);
    expect(sectionPart(cut, [5, -7], 0.5)).toBeNull();
  });

  test("moves at one place, or whole", () => {
    expect(movedSection(cut.line, 2, [1, 2])).toEqual([[0, -5], [10, -5], [21, -3]]);
    expect(movedSection(cut.line, -1, [1, 2])).toEqual([[1, -3], [11, -3], [21, -3]]);
  });

  test("that nobody kept is cut where it is dragged, without an edit", () => {
    const hand = choosing();
    hand.cut = cut;
    hand.drag([0, -5], [3, -9]);

    expect(hand.labels).toEqual([]);
    expect(hand.answers.findLast(({ section }) => section)?.section).toEqual([[3, -9], [10, -5], [20, -5]]);
  });

  test("that is kept is one edit at the drop", () => {
    const hand = choosing();
    hand.job = { ...hand.job, shape: { ...hand.job.shape, sections: { long: { line: [{ east: 0, north: -5 }, { east: 20, north: -5 }] } } } };
    hand.cut = { line: [[0, -5], [20, -5]], id: "long" };
    hand.drag([10, -5], [10, -8]);

    expect(hand.job.shape.sections?.["long"]?.line).toEqual([{ east: 0, north: -8 }, { east: 20, north: -8 }]);
    expect(hand.labels).toHaveLength(1);
  });

  test("lies where it was when the hand lets go of it", () => {
    const hand = choosing();
    hand.cut = cut;
    hand.feed("down", [0, -5]);
    hand.feed("drag", [3, -9]);
    hand.escape();

    expect(hand.answers.findLast(({ section }) => section)?.section).toEqual(cut.line);
  });
});
