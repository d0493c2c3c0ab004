import { expect, test } from "vitest";
import { standIn } from "./fakes";

standIn();

const { papersOf } = await import("../src/panels/papers");

test("the pages of a report lie in one paper, and what merely ends in a number is its own", () => {
  const sheets = [
    { name: "site-report", title: "Site report, page 1 of 3, Larkmeadow" },
    { name: "site-report-2", title: "Site report, page 2 of 3, Larkmeadow" },
    { name: "site-report-3", title: "Site report, page 3 of 3, Larkmeadow" },
    { name: "grading-plan", title: "Grading plan, Larkmeadow" },
    { name: "section-2", title: "Section 2, Larkmeadow" },
  ];
  const papers = papersOf(sheets);

  expect(papers.map(({ name, title, pages }) => [name, title, pages.length])).toEqual([
    ["site-report", "Site report, Larkmeadow", 3],
    ["grading-plan", "Grading plan, Larkmeadow", 1],
    ["section-2", "Section 2, Larkmeadow", 1],
  ]);
  expect(papers.flatMap(({ pages }) => pages)).toHaveLength(sheets.length);
});
