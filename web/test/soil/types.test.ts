import { expect, test } from "vitest";
import schema from "../../../docs/reference/job.schema.json";
import earth from "../../src/api/earth.ts?raw";
import types from "../../src/api/types.ts?raw";

const models = schema.$defs as unknown as Readonly<Record<string, { readonly properties?: Readonly<Record<string, unknown>> }>>;

test.each([
  [earth, "Truck", "Truck"], [earth, "Machine", "Machine"], [earth, "Pile", "pondwright__job__earth__Pile"], [earth, "OffSite", "OffSite"], [earth, "Counted", "Counted"],
  [earth, "EarthOfJob", "Earth"], [types, "SectionLine", "SectionLine"],
])("every field that is kept by hand is a field of the document (%#)", (text, name, model) => {
  const body = new RegExp(`export interface ${name}(?: extends \\w+)? \\{\\n([\\s\\S]*?)\\n\\}`).exec(text)?.[1] ?? "";
  const own = [...body.matchAll(/^ {2}readonly (\w+)\??:/gm)].map(([, field]) => field as string);

  expect(own.length).toBeGreaterThan(0);
  expect(own.filter((field) => !Object.keys(models[model]?.properties ?? {}).includes(field))).toEqual([]);
});
