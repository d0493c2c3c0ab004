import { describe, expect, test } from "vitest";
import { readMoney, sameMoney, writeMoney } from "../src/format/money";

describe("an amount of money", () => {
  test.each([
    ["40000", 40000, ""], ["$40,000", 40000, "$"], ["40k", 40000, ""], ["USD 40000", 40000, "USD"], ["40.000", 40000, ""], ["40 000 eur", 40000, "EUR"],
    ["€ 40.000,50", 40000.5, "€"], ["1,250,000", 1250000, ""], ["1.2 million", 1200000, ""], ["1,5k", 1500, ""], ["$12.50", 12.5, "$"], ["40'000 CHF", 40000, "CHF"],
    ["40\u2009000", 40000, ""], ["A$ 900", 900, "A$"], ["12,5", 12.5, ""],
  ])("is read from %s", (text, value, currency) => {
    expect(readMoney(text)).toEqual({ value, currency });
  });

  test.each(["forty", "", "40..000", "4,00,000", "40 00", "40,00.000", "1,234,56", "12k5", "40.000k"])("is not read from “%s”, and says so in words of money", (text) => {
    expect(() => readMoney(text)).toThrow(/is not understood as an amount of money: write for example/);
  });

  test("refuses what is below nothing, too large, or of two currencies", () => {
    expect(() => readMoney("-5")).toThrow(/below nothing/);
    expect(() => readMoney("2000 million")).toThrow(/thousand million/);
    expect(() => readMoney("€ 40 USD")).toThrow(/two currencies/);
  });

  test("is written so that it is read back", () => {
    for (const value of [0, 0.5, 40000, 1234567.25]) expect(readMoney(writeMoney(value)).value).toBe(value);
  });

  test("takes a dollar sign for the dollar of any country, and for no other money", () => {
    expect([sameMoney("$", "USD"), sameMoney("$", "cad"), sameMoney("€", "eur"), sameMoney("$", "EUR"), sameMoney("USD", "CAD")]).toEqual([true, true, true, false, false]);
  });
});
