import { expect, test } from "vitest";
import schema from "../../../docs/reference/job.schema.json";
import water from "../../src/api/water.ts?raw";

const models = schema.$defs as unknown as Readonly<Record<string, { readonly properties?: Readonly<Record<string, unknown>> }>>;

test.each([
  ["Reading", "pondwright__job__groundwater__Reading"], ["Drain", "Drain"], ["Outlet", "Outlet"], ["Sump", "Sump"], ["PipeOnHand", "PipeOnHand"], ["SitePump", "SitePump"],
  ["Vent", "Vent"], ["GasWay", "GasWay"], ["Building", "Building"], ["GroundwaterOfJob", "Groundwater"],
])("every field of %s is a field of the document", (name, model) => {
  const body = new RegExp(`export interface ${name}(?: extends \\w+)? \\{\\n([\\s\\S]*?)\\n\\}`).exec(water)?.[1] ?? "";
  const own = [...body.matchAll(/^ {2}readonly (\w+)\??:/gm)].map(([, field]) => field as string);

  expect(own.length).toBeGreaterThan(0);
  expect(own.filter((field) => !Object.keys(models[model]?.properties ?? {}).includes(field))).toEqual([]);
});
