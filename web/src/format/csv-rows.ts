/** Tables of the package as the server reads them, row by row. */

/** Rows of a table of the package: notes begin with `#`, the first other line names the columns. */
export function rowsOf(text: string): Record<string, string>[] {
  const lines = text.split(/\r?\n/).filter((line) => line.trim() && !line.startsWith("#"));
  const [columns = [], ...rows] = lines.map(cellsOf);
  return rows.map((cells) => Object.fromEntries(columns.map((column, at) => [column, cells[at] ?? ""])));
}

/** Cells of one line of comma-separated text. */
function cellsOf(line: string): string[] {
  return [...line.matchAll(/(?:^|,)(?:"((?:[^"]|"")*)"|([^,]*))/g)].map(
    ([, quoted, plain]) => quoted?.replaceAll('""', '"') ?? plain ?? "",
  );
}
