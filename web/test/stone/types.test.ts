import { expect, test } from "vitest";
import schema from "../../../docs/reference/job.schema.json";
import stone from "../../src/api/stone.ts?raw";

const models = schema.$defs as unknown as Readonly<Record<string, { readonly properties?: Readonly<Record<string, unknown>> }>>;

test.each([
  ["StoneClass", "StoneClass"], ["Share", "Share"], ["Treatment", "Treatment"], ["Piece", "Piece"], ["StonePile", "pondwright__job__stone__Pile"], ["FallStone", "FallStone"],
  ["ChartRow", "ChartRow"], ["Lifter", "Lifter"], ["StoneOfJob", "Stone"],
])("every field of %s is a field of the document", (name, model) => {
  const body = new RegExp(`export interface ${name}(?: extends \\w+)? \\{\\n([\\s\\S]*?)\\n\\}`).exec(stone)?.[1] ?? "";
  const own = [...body.matchAll(/^ {2}readonly (\w+)\??:/gm)].map(([, field]) => field as string);

  expect(own.length).toBeGreaterThan(0);
  expect(own.filter((field) => !Object.keys(models[model]?.properties ?? {}).includes(field))).toEqual([]);
});
