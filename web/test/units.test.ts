import { describe, expect, test } from "vitest";
import vectors from "../../tests/vectors/units.json";
import type { ShownUnits } from "../src/api/types";
import { type Kind, NotRead, format, formatChange, parse } from "../src/format/units";

interface ReadCase {
  readonly text: string;
  readonly kind: Kind;
  readonly shown: ShownUnits | null;
  readonly unit?: string;
  readonly water_line?: number;
  readonly relative?: boolean;
  readonly value: number;
  readonly shows: string;
}

interface WriteCase {
  readonly value: number;
  readonly kind: Kind;
  readonly shown: ShownUnits;
  readonly digits?: number;
  readonly relative_to?: number;
  readonly text: string;
}

const read = (one: Omit<ReadCase, "value" | "shows">) =>
  parse(one.text, one.kind, one.shown, one.water_line ?? null, { unit: one.unit ?? null, relative: one.relative ?? false });

describe("the shared vectors of units", () => {
  test.each(vectors.read as ReadCase[])("reads $text as $kind ($shown)", (one) => {
    const typed = read(one);

    expect(Math.abs(typed.value - one.value)).toBeLessThanOrEqual(1e-12 * Math.max(1, Math.abs(one.value)));
    expect(typed.text).toBe(one.shows);
  });

  test.each(vectors.refused as ReadCase[])("refuses $text as $kind ($shown) in one sentence", (one) => {
    expect(() => read(one)).toThrow(NotRead);
  });

  test.each(vectors.written as WriteCase[])("writes $value as $text", (one) => {
    const text = format(one.value, one.kind, one.shown, { digits: one.digits ?? null, relativeTo: one.relative_to ?? null });

    expect(text).toBe(one.text);
  });
});

test("what was typed reads back as the very same value", () => {
  for (const one of vectors.read as ReadCase[]) {
    const typed = read(one);

    expect(read({ ...one, text: typed.text }).value).toBeCloseTo(typed.value, 12);
  }
});

test("a change always has its sign", () => {
  expect(formatChange(0.5, "elevation", "metric")).toBe("+0.50 m");
  expect(formatChange(-0.5, "elevation", "metric")).toBe("−0.50 m");
});
