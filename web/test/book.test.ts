import { expect, test } from "vitest";
import schema from "../../docs/reference/job.schema.json";
import survey from "../src/api/survey.ts?raw";
import type { Book, Mark } from "../src/api/survey";
import type { Job } from "../src/api/types";
import { bookSheet, foreRole, linesOf, pointId, setUpsOf } from "../src/panels/book-sheet";
import { type Setting, cellText, pasteOps, planned } from "../src/panels/sheet";
import { type Json, applyOps } from "../src/state/ops";
import { standIn } from "./fakes";

standIn();

const book: Book = {
  unit: "ft",
  set_ups: [
    { station: "by the gate", backsights: [{ point: "bm1", rod: 1.2 }], readings: [{ point: "p12", rod: 1.6, kind: "side" }, { point: "tp1", rod: 0.8, kind: "turn" }] },
    { station: "on the lawn", backsights: [{ point: "tp1", rod: 1.5 }], readings: [{ point: "bm1", rod: 1.9, kind: "check" }] },
  ],
};
const job = {
  site: { marks: { bm1: { elevation: 30 } as Mark }, books: { day: book }, shots: { p12: { place: { by: "book" }, code: "rim" } } },
  shape: {},
} as unknown as Job;
const setting: Setting = { shown: "us", waterLine: null, relative: false };

function after(ops: ReturnType<typeof pasteOps>): Job["site"] {
  return (applyOps(job as unknown as Json, ops) as unknown as Job).site;
}

function setUps(ops: ReturnType<typeof pasteOps>): Book["set_ups"] {
  return after(ops).books?.["day"]?.set_ups;
}

test.each(["Mark", "Book", "Reading", "SetUp", "TwoPegTest", "Survey", "Cloud", "Probe", "ProbeLayer", "WaterRise", "WaterMark"])(
  "every field of %s is a field of the document",
  (name) => {
    const models = schema.$defs as unknown as Readonly<Record<string, { properties?: Readonly<Record<string, unknown>> }>>;
    // Two models of one name, a rod reading and one of the groundwater, stand in the schema with their modules.
    const known = Object.keys((models[name] ?? models[`pondwright__job__site__${name}`])?.properties ?? {});
    const body = new RegExp(`export interface ${name}(?: extends \\w+)? \\{\\n([\\s\\S]*?)\\n\\}`).exec(survey)?.[1] ?? "";
    const own = [...body.matchAll(/^ {2}readonly (\w+)\??:/gm)].map(([, field]) => field as string);

    expect(own.length).toBeGreaterThan(0);
    expect(own.filter((field) => !known.includes(field))).toEqual([]);
  },
);

test("the lines of a book make the same set-ups again", () => {
  expect(setUpsOf(linesOf(book), ["by the gate", "on the lawn"])).toEqual(
    book.set_ups?.map((setUp) => ({ ...setUp, readings: setUp.readings ?? [] })),
  );
});

test("a reading stands in the column that says what it was for, under the words of its set-up", () => {
  const sheet = bookSheet(job, "day", []);

  expect(sheet?.rows.map(({ values }) => ["back", "between", "fore"].filter((column) => values[column] !== null))).toEqual([["back"], ["between"], ["fore"], ["back"], ["fore"]]);
  expect(sheet?.rows.map(({ heading }) => heading)).toEqual(["Set-up 1: by the gate", undefined, undefined, "Set-up 2: on the lawn", undefined]);
  expect(sheet?.rows[1]?.values["remarks"]).toBe("rim");
});

test("what a line comes to is written as the rod is read, and nothing stands where nothing is known", () => {
  const worked = [{ instrument: 31.2, elevation: 30, correction: 0, adjusted: 30 }, { instrument: Number.NaN, elevation: Number.NaN, correction: Number.NaN, adjusted: Number.NaN }];
  const sheet = bookSheet(job, "day", worked);

  expect(sheet?.rows[0]?.fixed).toMatchObject({ instrument: "102.36 ft", elevation: "98.43 ft" });
  expect(sheet?.rows[1]?.fixed).toMatchObject({ elevation: "", adjusted: "" });
  expect(sheet?.rows[4]?.fixed).toMatchObject({ elevation: "" });
});

test("any unit can be typed at any reading", () => {
  const sheet = bookSheet(job, "day", []);
  if (!sheet) throw new Error("no sheet");

  expect(setUps(pasteOps(sheet, planned(sheet, 1, 3, `5' 3"`, setting)))?.[0]?.readings?.[0]?.rod).toBeCloseTo(1.6002, 9);
  expect(setUps(pasteOps(sheet, planned(sheet, 1, 3, "1.234 m", setting)))?.[0]?.readings?.[0]?.rod).toBeCloseTo(1.234, 12);
});

test("a new line goes to the end, a fore reading on a known height closes and on any other point carries on", () => {
  const sheet = bookSheet(job, "day", []);
  const add = (point: string) => setUps(sheet?.ops([], [{ point, fore: 1.0 }]) ?? [])?.[1]?.readings?.at(-1)?.kind;

  expect([add("BM 1"), add("TP 1"), add("TP 2")]).toEqual(["check", "check", "turn"]);
  expect(foreRole("p12", linesOf(book), {})).toBe("turn");
});

test("a back reading after others begins a set-up, and one in between splits it in two", () => {
  const sheet = bookSheet(job, "day", []);

  expect(setUps(sheet?.ops([], [{ point: "bm1", back: 1.1 }]) ?? [])?.map(({ station }) => station)).toEqual(["by the gate", "on the lawn", ""]);
  const split = setUps(sheet?.ops([], [{ point: "tp9", back: 1.1 }], "2") ?? []);
  expect(split?.map(({ backsights, readings }) => [backsights.length, readings?.length])).toEqual([[1, 1], [1, 1], [1, 1]]);
  expect(split?.[0]?.station).toBe("by the gate");
});

test("a point that is only read becomes a shot without a place, in the same edit; a turning point does not", () => {
  const sheet = bookSheet(job, "day", []);

  const site = after(sheet?.ops([], [{ point: "13", between: 1.3, remarks: "drain" }, { point: "tp2", fore: 1.0 }]) ?? []);

  expect(site.shots?.["p13"]).toEqual({ place: { by: "book" }, code: "drain" });
  expect(Object.keys(site.shots ?? {})).toEqual(["p12", "p13"]);
});

test("a line without a point or without a reading is not whole", () => {
  const sheet = bookSheet(job, "day", []);

  expect(sheet?.lacks({ point: "12" })).toContain("one reading");
  expect(sheet?.lacks({ between: 1 })).toContain("the point");
  expect(sheet?.lacks({ point: "12", between: 1 })).toBe("");
});

test("an emptied reading takes its line out", () => {
  const sheet = bookSheet(job, "day", []);

  expect(setUps(sheet?.ops([{ id: "2", values: { between: null } }], []) ?? [])?.[0]?.readings?.map(({ point }) => point)).toEqual(["tp1"]);
  expect(sheet?.removal("3")).toHaveLength(1);
});

test("names of points are spelled as people spell them, and lead to the same point", () => {
  expect(["BM 1", "12", "TP-1", " ", "Ümläut"].map((name) => pointId(name))).toEqual(["bm_1", "p12", "tp_1", "", "ml_ut"]);
  expect(pointId("BM 1", ["bm1"])).toBe("bm1");
  expect(pointId("1-1", ["p11"])).toBe("p1_1");
});

test("cells of a book are as fine as the rod", () => {
  const sheet = bookSheet({ ...job, site: { ...job.site, books: { day: { ...book, unit: "m" } } } }, "day", []);
  const back = sheet?.columns.find(({ key }) => key === "back");

  expect(back && cellText(back, 1.2345, { ...setting, shown: "metric" })).toBe("1.234 m");
});
