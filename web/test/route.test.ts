import { expect, test } from "vitest";
import { jobAddress, routeOf } from "../src/state/route";

test("an address and its route are each other's inverse", () => {
  expect(routeOf(jobAddress("0123456789abcdef", "tables"))).toEqual({ at: "job", id: "0123456789abcdef", screen: "tables" });
});

test("a job without a screen opens the plan, and anything unknown the list of jobs", () => {
  expect(routeOf("#/job/abc")).toEqual({ at: "job", id: "abc", screen: "plan" });
  expect(routeOf("#/job/abc/nonsense")).toEqual({ at: "job", id: "abc", screen: "plan" });
  expect(routeOf("")).toEqual({ at: "jobs" });
  expect(routeOf("#/elsewhere")).toEqual({ at: "jobs" });
});
