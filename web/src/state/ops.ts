/**
 * RFC 6902 operations on a job, applied so that untouched branches stay the same objects.
 *
 * The document leaves out what has its default, so a section or a field that is not there stands for
 * its default, as on the server: it can be set, replaced and removed.  A row of a map must be there.
 */

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

export interface Op {
  readonly op: "add" | "remove" | "replace" | "test";
  readonly path: string;
  readonly value?: Json;
}

/** The document after all operations; throws an Error, and changes nothing, when one does not fit. */
export function applyOps<T extends Json>(document: T, ops: readonly Op[]): T {
  return ops.reduce<Json>((now, op) => applied(now, keysOf(op.path), op), document) as T;
}

/** Operations that take the changed document back, in the order in which they must be applied. */
export function inverseOps(document: Json, ops: readonly Op[]): Op[] {
  const back: Op[] = [];
  let now: Json = document;
  for (const op of ops) {
    const keys = keysOf(op.path);
    const before = valueAt(now, keys);
    if (op.op === "remove") {
      if (before !== undefined) back.unshift({ op: "add", path: op.path, value: before });
    } else if (op.op === "replace" && before !== undefined) back.unshift({ op: "replace", path: op.path, value: before });
    else if (op.op === "replace") back.unshift({ op: "remove", path: op.path });
    else if (op.op === "add") {
      const inList = Array.isArray(valueAt(now, keys.slice(0, -1)));
      back.unshift(
        before === undefined || inList
          ? { op: "remove", path: addedPath(now, op.path, keys) }
          : { op: "replace", path: op.path, value: before },
      );
    }
    now = applied(now, keys, op);
  }
  return back;
}

/** Value at a JSON pointer, or undefined. */
export function valueAtPath(document: Json, path: string): Json | undefined {
  return valueAt(document, keysOf(path));
}

/** One step of a JSON pointer, escaped. */
export function pointer(...keys: readonly (string | number)[]): string {
  return keys.map((key) => `/${String(key).replaceAll("~", "~0").replaceAll("/", "~1")}`).join("");
}

function keysOf(path: string): string[] {
  if (path === "") return [];
  if (!path.startsWith("/")) throw new Error(`a path starts with /, got ${path}`);
  return path
    .slice(1)
    .split("/")
    .map((key) => key.replaceAll("~1", "/").replaceAll("~0", "~"));
}

function valueAt(document: Json | undefined, keys: readonly string[]): Json | undefined {
  let now: Json | undefined = document;
  for (const key of keys) {
    if (now === null || typeof now !== "object") return undefined;
    now = Array.isArray(now) ? now[Number(key)] : (now as Record<string, Json>)[key];
  }
  return now;
}

function addedPath(document: Json, path: string, keys: readonly string[]): string {
  if (keys.at(-1) !== "-") return path;
  const list = valueAt(document, keys.slice(0, -1)) as readonly Json[];
  return `${path.slice(0, -1)}${list.length}`;
}

// Sections whose rows lie one level deeper, and the parts of them that hold fields instead of rows.
const NESTED: ReadonlySet<string> = new Set(["site", "shape", "earth", "groundwater", "lining", "stone", "circulation", "brief"]);
const WITHOUT_ROWS: ReadonlySet<string> = new Set(["site/frame", "shape/slopes", "groundwater/borders", "groundwater/recharge", "groundwater/gas", "groundwater/building", "lining/pull"]);
const ROWS_OF_A_ROW: ReadonlySet<string> = new Set(["islands", "stretches"]);

/** Whether a path names a row of a map, rather than a section or a field. */
function isRow(keys: readonly string[]): boolean {
  if (!NESTED.has(keys[0] ?? "")) return keys.length === 2;
  if (keys.length === 5) return ROWS_OF_A_ROW.has(keys[3] ?? "");
  return keys.length === 3 && !WITHOUT_ROWS.has(`${keys[0]}/${keys[1]}`);
}

function applied(document: Json, keys: readonly string[], op: Op, depth = 0): Json {
  if (depth === keys.length) return op.op === "test" ? tested(document, op) : (op.value ?? null);
  if (document === null || typeof document !== "object") throw new Error(`nothing at ${op.path}`);
  return Array.isArray(document)
    ? appliedInList(document as readonly Json[], keys, op, depth)
    : appliedInMap(document as Record<string, Json>, keys, op, depth);
}

function appliedInMap(map: Record<string, Json>, keys: readonly string[], op: Op, depth: number): Json {
  const key = keys[depth] as string;
  const before = map[key];
  const there = before !== undefined || !isRow(keys.slice(0, depth + 1));
  if (depth + 1 < keys.length) {
    if (!there) throw new Error(`nothing at ${op.path}`);
    return { ...map, [key]: applied(before ?? {}, keys, op, depth + 1) };
  }
  if (op.op === "add") return { ...map, [key]: op.value ?? null };
  if (!there) throw new Error(`nothing at ${op.path}`);
  if (op.op === "replace") return { ...map, [key]: op.value ?? null };
  if (op.op === "remove") {
    const { [key]: _gone, ...left } = map;
    return left;
  }
  tested(before ?? null, op);
  return map;
}

function appliedInList(list: readonly Json[], keys: readonly string[], op: Op, depth: number): Json {
  const key = keys[depth] as string;
  const inside = depth + 1 < keys.length;
  const at = key === "-" ? list.length : Number(key);
  const last = op.op === "add" && !inside ? list.length : list.length - 1;
  if (!Number.isInteger(at) || at < 0 || at > last) throw new Error(`nothing at ${op.path}`);
  if (inside) return list.with(at, applied(list[at] as Json, keys, op, depth + 1));
  if (op.op === "add") return list.toSpliced(at, 0, op.value ?? null);
  if (op.op === "replace") return list.with(at, op.value ?? null);
  if (op.op === "remove") return list.toSpliced(at, 1);
  tested(list[at] as Json, op);
  return list;
}

function tested(found: Json, op: Op): Json {
  if (!same(found, op.value ?? null)) throw new Error(`${op.path} is not what it was`);
  return found;
}

function same(one: Json | undefined, other: Json | undefined): boolean {
  if (one === other) return true;
  if (one === null || other === null || typeof one !== "object" || typeof other !== "object") return false;
  if (Array.isArray(one) !== Array.isArray(other)) return false;
  const left = one as Record<string, Json>;
  const right = other as Record<string, Json>;
  const keys = Object.keys(left);
  return keys.length === Object.keys(right).length && keys.every((key) => same(left[key], right[key]));
}
