import { describe, expect, test } from "vitest";
import type { SitePoint } from "../../src/geometry/types";
import { Choose } from "../../src/plan/gestures/choose";
import { crossingsOf, ringOf } from "../../src/plan/rings";
import { FakeHand } from "./fake-hand";

const choosing = (rotation = 0): FakeHand => new FakeHand(new Choose(() => rotation));
const ISLAND_MIDDLE: SitePoint = [10, 10];

describe("dragging a peg", () => {
  test("shows the whole ring while it moves and makes one edit when it is dropped", () => {
    const hand = choosing();
    hand.feed("down", [0, 0]);
    hand.feed("drag", [-2, -3]);

    expect(hand.preview).toEqual([{ op: "replace", path: "/shape/bodies/pond/outline/curve", value: expect.anything() }]);
    expect(hand.labels).toEqual([]);

    hand.feed("up", [-2, -3]);

    expect(hand.peg("p1")).toEqual([-2, -3]);
    expect(hand.labels).toEqual(["move peg p1"]);
  });

  test("does not make the peg jump when it was gripped beside its middle", () => {
    const hand = choosing();

    hand.drag([0.3, 0.2], [5.3, 5.2]);

    expect(hand.peg("p1")?.[0]).toBeCloseTo(5, 9);
    expect(hand.peg("p1")?.[1]).toBeCloseTo(5, 9);
  });

  test("lands exactly on a shot that is near, and says so", () => {
    const hand = choosing();

    hand.drag([20, 0], [30.2, 10.2]);

    expect(hand.peg("p2")).toEqual([30, 10]);
    expect(hand.answers.some((answer) => answer.says === "on shot s1")).toBe(true);
  });

  test("lands beside a shot while alt is held", () => {
    const hand = choosing();
    hand.feed("down", [20, 0]);
    hand.feed("drag", [30.2, 10.2], { alt: true });
    hand.feed("up", [30.2, 10.2], { alt: true });

    expect(hand.peg("p2")).toEqual([30.2, 10.2]);
  });

  test("is undone by Escape before the drop", () => {
    const hand = choosing();
    hand.feed("down", [0, 0]);
    hand.feed("drag", [-5, -5]);
    hand.escape();
    hand.feed("up", [-5, -5]);

    expect(hand.preview).toBeNull();
    expect(hand.peg("p1")).toEqual([0, 0]);
    expect(hand.labels).toEqual([]);
  });

  test("takes hold of a peg 20 px away with a finger, but not with a mouse", () => {
    const [mouse, finger] = [choosing(), choosing()];
    mouse.feed("down", [-1, 0]);
    finger.feed("down", [-1, 0], { coarse: true });

    expect(mouse.holds).toBe(false);
    expect(finger.holds).toBe(true);
  });

  test("shows where the shore crosses itself and never fails", () => {
    const hand = choosing();
    hand.feed("down", [0, 0]);
    hand.feed("drag", [26, 12], { alt: true });
    const ring = ringOf(hand.world().job, { body: "pond", ring: "outer" });

    expect(ring && crossingsOf(ring).length).toBeGreaterThan(0);

    hand.feed("drag", [20, 20]);
    const collapsed = ringOf(hand.world().job, { body: "pond", ring: "outer" });

    expect(() => collapsed && crossingsOf(collapsed)).not.toThrow();
  });
});

describe("moving a peg without dragging", () => {
  test("tap the peg, then tap the place", () => {
    const hand = choosing();
    hand.tap([0, 0]);
    hand.tap([-4, -6]);

    expect(hand.peg("p1")).toEqual([-4, -6]);
    expect(hand.selection).toEqual({ kind: "peg", id: "p1", body: "pond", ring: "outer" });
  });

  test("gives the same document as dragging it there", () => {
    const [tapped, dragged] = [choosing(), choosing()];
    tapped.tap([0, 0]);
    tapped.tap([-4, -6]);

    dragged.drag([0, 0], [-4, -6]);

    expect(tapped.job).toEqual(dragged.job);
  });

  test("a second place after that lets the peg go instead of moving it again", () => {
    const hand = choosing();
    hand.tap([0, 0]);
    hand.tap([-4, -6]);
    hand.tap([-15, -15]);

    expect(hand.peg("p1")).toEqual([-4, -6]);
    expect(hand.selection).toBeNull();
  });

  test("a second tap on the peg lets it go", () => {
    const hand = choosing();
    hand.tap([0, 0]);
    hand.tap([0, 0]);
    hand.tap([-4, -6]);

    expect(hand.peg("p1")).toEqual([0, 0]);
  });

  test("arrow keys move it in one edit for each key, Shift in finer steps", () => {
    const hand = choosing();
    hand.tap([0, 0]);
    hand.key({ key: "ArrowRight", shift: false, up: false });
    hand.key({ key: "ArrowRight", shift: false, up: false });
    hand.key({ key: "ArrowRight", shift: false, up: true });
    hand.press("ArrowUp", true);

    expect(hand.peg("p1")?.[0]).toBeCloseTo(0.2, 12);
    expect(hand.peg("p1")?.[1]).toBeCloseTo(0.01, 12);
    expect(hand.labels).toHaveLength(2);
  });

  test("arrow keys go with the screen when the plan is turned a quarter", () => {
    const hand = choosing(Math.PI / 2);
    hand.tap([0, 0]);
    hand.press("ArrowUp");

    expect(hand.peg("p1")?.[0]).toBeCloseTo(0.1, 12);
    expect(hand.peg("p1")?.[1]).toBeCloseTo(0, 12);
  });
});

describe("more and fewer pegs", () => {
  test("a press on the shore puts a peg there, after the peg before it", () => {
    const hand = choosing();
    const [east, north] = middleOfSpan(hand, 0);

    hand.tap([east, north]);

    expect(hand.curve().pegs.map((peg) => peg.id)).toEqual(["p1", "p5", "p2", "p3", "p4"]);
    expect(hand.peg("p5")?.[0]).toBeCloseTo(east, 3);
  });

  test("a press on the shore that goes on as a drag takes the new peg along in the same edit", () => {
    const hand = choosing();

    hand.drag(middleOfSpan(hand, 0), [10, -8]);

    expect(hand.peg("p5")?.[1]).toBeCloseTo(-8, 9);
    expect(hand.labels).toHaveLength(1);
  });

  test("a finger that pans from the shore puts in no peg, one that taps it does", () => {
    const hand = choosing();
    const place = middleOfSpan(hand, 0);
    hand.drag(place, [10, -8], { coarse: true });

    expect(hand.curve().pegs).toHaveLength(4);

    hand.tap(place, { coarse: true });

    expect(hand.curve().pegs).toHaveLength(5);
  });

  test("Delete and an alt-press take a peg out, and its bank types keep to the pegs that are left", () => {
    const [byKey, byPress] = [choosing(), choosing()];
    byKey.tap([20, 0]);
    byKey.press("Delete");
    byPress.tap([20, 0], { alt: true });

    for (const hand of [byKey, byPress]) {
      expect(hand.curve().pegs.map((peg) => peg.id)).toEqual(["p1", "p3", "p4"]);
      expect(hand.job.shape.bodies?.["pond"]?.stretches).toEqual({});
    }
  });

  test("the last three pegs of a ring stay", () => {
    const hand = choosing();
    hand.tap([20, 0], { alt: true });
    hand.tap([20, 20], { alt: true });

    expect(hand.curve().pegs).toHaveLength(3);
    expect(hand.says).toContain("at least 3");
  });

  test("c makes the chosen peg a corner and smooth again", () => {
    const hand = choosing();
    hand.tap([0, 0]);
    hand.press("c");
    const isCorner = hand.curve().pegs[0]?.corner;
    hand.press("c");

    expect(isCorner).toBe(true);
    expect(hand.curve().pegs[0]?.corner).toBe(false);
  });
});

describe("islands and other things", () => {
  test("an island is dragged whole", () => {
    const hand = choosing();

    hand.drag(ISLAND_MIDDLE, [11, 9]);

    expect(hand.peg("p1", "isle")).toEqual([9, 7]);
    expect(hand.peg("p3", "isle")).toEqual([13, 11]);
  });

  test("an island is chosen by a tap and put down by another, with the same document", () => {
    const [tapped, dragged] = [choosing(), choosing()];
    tapped.tap(ISLAND_MIDDLE);
    tapped.tap([15, 4]);
    dragged.drag(ISLAND_MIDDLE, [15, 4]);

    expect(tapped.job).toEqual(dragged.job);
  });

  test("Delete takes the chosen island out", () => {
    const hand = choosing();
    hand.tap(ISLAND_MIDDLE);
    hand.press("Delete");

    expect(hand.job.shape.bodies?.["pond"]?.islands).toEqual({});
  });

  test("a shot and a thing are chosen by a tap", () => {
    const hand = choosing();
    hand.tap([30, 10]);
    const shot = hand.selection;
    hand.tap([-10, 0]);

    expect(shot).toEqual({ kind: "shot", id: "s1" });
    expect(hand.selection).toEqual({ kind: "thing", id: "oak" });
  });

  test("a flag goes before what lies under it, and opens its check", () => {
    const hand = choosing();
    hand.flags = [{ check: "rim.low 0", point: [0, 0] }];

    hand.tap([0, 0]);

    expect(hand.last.check).toBe("rim.low 0");
    expect(hand.selection).toBeNull();
  });

  test("a press on nothing leaves the pointer to the plan", () => {
    const hand = choosing();
    hand.feed("down", [-15, 40]);

    expect(hand.holds).toBe(false);
  });
});

function middleOfSpan(hand: FakeHand, span: number): SitePoint {
  const [first, second] = [hand.curve().pegs[span], hand.curve().pegs[span + 1]];
  // Between two pegs at the foot of a square the curve bulges outward; straight below its middle lies its lowest place.
  const middle = ((first?.east ?? 0) + (second?.east ?? 0)) / 2;
  return [middle, -2.5];
}
