import { expect, test } from "vitest";
import schema from "../../../docs/reference/job.schema.json";
import lining from "../../src/api/lining.ts?raw";

const models = schema.$defs as unknown as Readonly<Record<string, { readonly properties?: Readonly<Record<string, unknown>> }>>;

test.each([
  ["Stock", "Stock"], ["Liner", "Liner"], ["LinerEdge", "LinerEdge"], ["Penetration", "Penetration"], ["Patch", "Patch"], ["Guard", "Guard"],
  ["TapeCheck", "TapeCheck"], ["PullDay", "PullDay"], ["LiningOfJob", "Lining"], ["Item", "Item"],
])("every field of %s is a field of the document", (name, model) => {
  const body = new RegExp(`export interface ${name}(?: extends \\w+)? \\{\\n([\\s\\S]*?)\\n\\}`).exec(lining)?.[1] ?? "";
  const own = [...body.matchAll(/^ {2}readonly (\w+)\??:/gm)].map(([, field]) => field as string);

  expect(own.length).toBeGreaterThan(0);
  expect(own.filter((field) => !Object.keys(models[model]?.properties ?? {}).includes(field))).toEqual([]);
});
