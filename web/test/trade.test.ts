import { expect, test } from "vitest";
import { tradeText, tradeTexts, tradeUnit } from "../src/format/trade";
import { format, parse } from "../src/format/units";

test("sides of a stone are told as the tape has them, small ones more finely", () => {
  expect(tradeText(20 * 0.0254, "side of a stone", "us")).toBe("20 in");
  expect(tradeText(0.75 * 0.0254, "side of a stone", "us")).toBe("3/4 in");
  expect(tradeText(0.51, "side of a stone", "metric")).toBe("51 cm");
  expect(tradeText(0.045, "side of a stone", "metric")).toBe("4.5 cm");
  expect(tradeText(null, "side of a stone", "us")).toBe("–");
});

test("several sides have their unit once, at the end", () => {
  expect(tradeTexts([20, 14, 12].map((inches) => inches * 0.0254), "side of a stone", "us", " × ")).toBe("20 × 14 × 12 in");
  expect(tradeTexts([0.3, 0.5], "side of a stone", "metric", " – ")).toBe("30 – 50 cm");
});

test("a wind is told as the forecast has it, and a bare number is read so", () => {
  const wind = parse("18", "speed", "us", null, { unit: tradeUnit("wind", "us") }).value;

  expect(wind).toBeCloseTo(18 * 0.44704, 9);
  expect(tradeText(wind, "wind", "us")).toBe("18 mph");
  expect(tradeText(10, "wind", "metric")).toBe("36 km/h");
  expect(format(wind, "speed", "us")).not.toBe("18 mph");
});
