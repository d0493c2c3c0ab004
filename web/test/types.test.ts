import { expect, test } from "vitest";
import schema from "../../docs/reference/job.schema.json";
import types from "../src/api/types.ts?raw";

interface Model {
  readonly properties?: Readonly<Record<string, unknown>>;
}

const models = schema.$defs as unknown as Readonly<Record<string, Model>>;

/** Fields that an interface of the hand-kept types names. */
function fieldsOf(name: string): string[] {
  const body = new RegExp(`export interface ${name}(?: extends \\w+)? \\{\\n([\\s\\S]*?)\\n\\}`).exec(types)?.[1] ?? "";
  return [...body.matchAll(/^ {2}readonly (\w+)\??:/gm)].map(([, field]) => field as string);
}

test.each([
  ["Row", "Body"], ["Shot", "Shot"], ["Peg", "Peg"], ["Curve", "Curve"], ["Body", "Body"], ["BankType", "BankType"], ["Berm", "Berm"],
  ["Stretch", "Stretch"], ["Thing", "Thing"], ["Underlay", "Underlay"], ["Tie", "Tie"], ["Soil", "Soil"], ["SoilLayer", "SoilLayer"],
  ["SurveyLine", "SurveyLine"], ["Rule", "Rule"], ["Bound", "Bound"], ["WalkAnswer", "WalkAnswer"], ["Person", "Person"], ["Wish", "Wish"],
  ["Permit", "Permit"], ["Brief", "Brief"], ["Mound", "Mound"], ["Way", "Way"], ["Seat", "Seat"], ["CorridorOutline", "CorridorOutline"], ["Step", "Step"],
])("every field of %s is a field of the document's %s", (name, model) => {
  const known = Object.keys(models[model]?.properties ?? {});
  const own = fieldsOf(name);

  expect(own.length).toBeGreaterThan(0);
  expect(own.filter((field) => !known.includes(field))).toEqual([]);
});
