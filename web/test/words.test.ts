import { expect, test } from "vitest";
import { said, say } from "../src/format/words";
import catalogue from "../src/format/words.en.ts?raw";

const files = import.meta.glob<string>("../src/**/*.ts", { query: "?raw", eager: true, import: "default" });

test("every word of the shell's catalogue is used somewhere", () => {
  const own = [...catalogue.matchAll(/^  "([\w.<>= ]+)":/gm)].map(([, key]) => key as string);
  const all = Object.entries(files).filter(([name]) => !name.includes("words")).map(([, text]) => text).join("\n");
  const isUsed = (key: string): boolean => {
    if (all.includes(`"${key}"`)) return true;
    // Keys may be put together: `state.${state}`, `shape.${end}`.
    const parts = key.split(".");
    if (all.includes(`}.${parts.at(-1)}\``)) return true;
    return parts.some((_, at) => at > 0 && all.includes(`${parts.slice(0, at).join(".")}.\${`));
  };

  expect(own.filter((key) => !isUsed(key))).toEqual([]);
});

test("values are put in their places, and a place without a value is left to be seen", () => {
  expect(say("jobs.open", { name: "Mill Lane 4" })).toBe("Open Mill Lane 4");
  expect(say("jobs.open")).toBe("Open {name}");
});

test("what the server quotes stands in quotation marks", () => {
  expect(said("`x` must be a number, got `y`")).toBe("“x” must be a number, got “y”");
});
