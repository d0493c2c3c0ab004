import { expect, test } from "vitest";
import type { Job } from "../src/api/types";
import { type Setting, cellText, cellValue, cellsOf, pasteOps, planned } from "../src/panels/sheet";
import { pegsSheet, shotsSheet } from "../src/panels/sheets";
import { type Json, applyOps } from "../src/state/ops";
import { standIn } from "./fakes";

standIn();

const job = {
  site: {
    shots: {
      s2: { place: { by: "coordinates", east: 1, north: 2 }, elevation: 30, code: "rim" },
      s10: { place: { by: "tapes", tapes: [] }, elevation: 31 },
    },
  },
  shape: { bodies: { pond: { outline: { form: "ring", curve: { pegs: [
    { id: "p1", east: 0, north: 0 }, { id: "p2", east: 9, north: 0 }, { id: "p3", east: 5, north: 9, corner: true },
  ] } } } } },
} as unknown as Job;
const setting: Setting = { shown: "us", waterLine: 30, relative: false };

function after(ops: ReturnType<typeof pasteOps>): Job {
  return applyOps(job as unknown as Json, ops) as unknown as Job;
}

test("rows stand in the order of their numbers", () => {
  expect(shotsSheet(job).rows.map(({ id }) => id)).toEqual(["s2", "s10"]);
});

test("any unit can be pasted into any cell, and a paste is one list of operations", () => {
  const sheet = shotsSheet(job);

  const pasted = planned(sheet, 0, 1, "10\t3.048 m\t98' 6\"\n", setting);
  const shot = after(pasteOps(sheet, pasted)).site.shots?.["s2"];

  expect(pasted.bad).toBe(0);
  expect(shot?.place).toEqual({ by: "coordinates", east: 3.048, north: 3.048 });
  expect(shot?.elevation).toBeCloseTo(30.0228, 9);
  expect(shot?.code).toBe("rim");
});

test("a cell that cannot be read says why, and the others can still be taken", () => {
  const sheet = shotsSheet(job);

  const pasted = planned(sheet, 0, 3, "oops\tfloor", setting);

  expect(pasted.rows[0]?.cells.map(({ fault }) => fault === "")).toEqual([false, true]);
  expect(pasted.rows[0]?.cells[0]?.fault).toContain("“oops”");
  expect(after(pasteOps(sheet, pasted)).site.shots?.["s2"]).toMatchObject({ elevation: 30, code: "floor" });
});

test("a shot that was not located by coordinates keeps its place", () => {
  const pasted = planned(shotsSheet(job), 1, 1, "5\t6\t100", setting);

  expect(pasted.rows[0]?.cells.map(({ fault }) => fault !== "")).toEqual([true, true, false]);
});

test("rows below the last become new shots, if they have a place", () => {
  const sheet = shotsSheet(job);

  const pasted = planned(sheet, 2, 0, "\t1\t2\t99\ttoe\n\t\t5\t99", setting);
  const shots = after(pasteOps(sheet, pasted)).site.shots ?? {};

  expect(Object.keys(shots)).toEqual(["s2", "s10", "s11"]);
  expect(shots["s11"]).toMatchObject({ place: { by: "coordinates" }, code: "toe" });
  expect(pasted.rows[1]?.fault).not.toBe("");
});

test("columns beyond the last are told, not dropped in silence", () => {
  const pasted = planned(shotsSheet(job), 0, 6, "0.03\textra", setting);

  expect(pasted.rows[0]?.fault).not.toBe("");
});

test("pegs are changed as one whole ring, and a ring keeps three", () => {
  const sheet = pegsSheet(job, "pond", "outer");

  const ops = sheet.ops([{ id: "p2", values: { east: 10 } }], [{ east: 1, north: 1 }]);

  expect(ops).toHaveLength(1);
  const pegs = after(ops).shape.bodies?.["pond"]?.outline.curve.pegs;
  expect(pegs?.map(({ id }) => id)).toEqual(["p1", "p2", "p3", "p4"]);
  expect(pegs?.[1]).toMatchObject({ east: 10, north: 0 });
  expect(typeof sheet.removal("p1")).toBe("string");
});

test("yes and no, and words out of a list, are read in their own words", () => {
  const corner = pegsSheet(job, "pond", "outer").columns[2];
  const surface = shotsSheet(job).columns[5];
  if (!corner || !surface) throw new Error("no column");

  expect(cellValue(corner, "Yes", setting)).toBe(true);
  expect(cellText(corner, true, setting)).toBe("yes");
  expect(cellValue(surface, "Firm bottom", setting)).toBe("firm");
  expect(() => cellValue(surface, "lava", setting)).toThrow("Write one of");
});

test("text from a spreadsheet falls into cells by tabs and lines", () => {
  expect(cellsOf('1\t2\r\n"3 ft 6"""\t\n')).toEqual([["1", "2"], ['3 ft 6"', ""]]);
});
