import { describe, expect, test } from "vitest";
import { standIn } from "./fakes";

standIn();
const { shown, shownFigure } = await import("../src/format/shown");

describe("a figure whose words call it a share", () => {
  test("is told in percent, to a tenth where there is one", () => {
    expect([0.498, 0.05, 1 / 3, 0, 1].map((value) => shownFigure(value, "ratio", "Share of the old hole that no shot tells"))).toEqual(["49.8 %", "5 %", "33.3 %", "0 %", "100 %"]);
  });

  test("leaves other ratios, other kinds and what is not there as they were", () => {
    expect(shownFigure(1.4, "ratio", "Length of the shore against a round pond")).toBe(shown(1.4, "ratio"));
    expect(shownFigure(2, "length", "Share")).toBe(shown(2, "length"));
    expect(shownFigure(undefined, "ratio", "Share of it")).toBe("–");
  });
});
