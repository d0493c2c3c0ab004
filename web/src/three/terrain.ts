/** Ground as triangles for the view in the round, and what was moved as colours. Pure; metres. */

import { type Field, type FrameGrid, valueOf } from "../api/frame";

export interface Terrain {
  readonly columns: number;
  readonly rows: number;
  /** East, north and height of every node, counted from `origin`. */
  readonly positions: Float32Array;
  readonly triangles: Uint32Array;
}

/** Height of a surface at a place [m]. */
export type Ground = (east: number, north: number) => number;

export interface Surface {
  readonly field: Field;
  readonly grid: FrameGrid;
}

/** Every how many nodes a grid is read so that no side has more than a number of nodes. */
export function strideFor(grid: Pick<FrameGrid, "columns" | "rows">, most: number): number {
  return Math.max(1, Math.ceil((Math.max(grid.columns, grid.rows) - 1) / Math.max(1, most - 1)));
}

/** Nodes and triangles of a surface, the last row and column always among them. */
export function terrainOf({ field, grid }: Surface, most: number, origin: readonly [number, number, number]): Terrain {
  const stride = strideFor(grid, most);
  const across = stops(grid.columns, stride);
  const up = stops(grid.rows, stride);
  const positions = new Float32Array(3 * across.length * up.length);
  let at = 0;
  for (const row of up) {
    for (const column of across) {
      positions[at] = grid.origin_east + column * grid.spacing - origin[0];
      positions[at + 1] = grid.origin_north + row * grid.spacing - origin[1];
      positions[at + 2] = valueOf(field, row * grid.columns + column) - origin[2];
      at += 3;
    }
  }
  return { columns: across.length, rows: up.length, positions, triangles: trianglesOf(across.length, up.length) };
}

/** Upright of the ground at every node for its shading, from all eight nodes around it: heights come in whole centimetres, whose steps are not to be seen. */
export function normalsOf({ columns, rows, positions }: Terrain): Float32Array {
  const normals = new Float32Array(positions.length);
  const node = (row: number, column: number): number => 3 * (clamped(row, rows) * columns + clamped(column, columns));
  for (let row = 0; row < rows; row += 1) {
    for (let column = 0; column < columns; column += 1) {
      let [across, up, wide, long] = [0, 0, 0, 0];
      for (const [beside, weight] of AROUND) {
        const [west, east] = [node(row + beside, column - 1), node(row + beside, column + 1)];
        const [south, north] = [node(row - 1, column + beside), node(row + 1, column + beside)];
        across += weight * ((positions[east + 2] as number) - (positions[west + 2] as number));
        wide += weight * ((positions[east] as number) - (positions[west] as number));
        up += weight * ((positions[north + 2] as number) - (positions[south + 2] as number));
        long += weight * ((positions[north + 1] as number) - (positions[south + 1] as number));
      }
      const [x, y] = [-across / wide, -up / long];
      const length = Math.hypot(x, y, 1);
      normals.set([x / length, y / length, 1 / length], node(row, column));
    }
  }
  return normals;
}

const AROUND = [[-1, 1], [0, 2], [1, 1]] as const;

/** Height of a terrain at a place, on the triangles that are drawn; beside the terrain that of its edge. Both from its origin. */
export function heightOn({ columns, rows, positions }: Terrain, east: number, north: number): number {
  const at = (node: number, axis: 0 | 1 | 2): number => positions[3 * node + axis] as number;
  // All columns are as far apart as the first two, but for the last, which may be nearer.
  const [column, across] = cellOf(east, columns, (index) => at(index, 0));
  const [row, up] = cellOf(north, rows, (index) => at(index * columns, 1));
  const sw = row * columns + column;
  const [low, right, left, high] = [sw, sw + 1, sw + columns, sw + columns + 1].map((node) => at(node, 2)) as [number, number, number, number];
  if ((row + column) % 2 === 0) return across >= up ? low + across * (right - low) + up * (high - right) : low + up * (left - low) + across * (high - left);
  return across + up <= 1 ? low + across * (right - low) + up * (left - low) : high + (1 - across) * (left - high) + (1 - up) * (right - high);
}

/** Cell of a row of nodes in which a place lies, and its share of the way through it. */
function cellOf(place: number, count: number, nodeAt: (index: number) => number): readonly [number, number] {
  const first = nodeAt(0);
  const cell = clamped(Math.floor((place - first) / (nodeAt(1) - first)), count - 1);
  const [from, to] = [nodeAt(cell), nodeAt(cell + 1)];
  return [cell, Math.min(Math.max((place - from) / (to - from), 0), 1)];
}

/** Height of a surface at the node nearest to a place. */
export function heightNear({ field, grid }: Surface, east: number, north: number): number {
  const column = clamped(Math.round((east - grid.origin_east) / grid.spacing), grid.columns);
  const row = clamped(Math.round((north - grid.origin_north) / grid.spacing), grid.rows);
  return valueOf(field, row * grid.columns + column);
}

/** Nodes of a net of lines over a terrain, as pairs, every so many rows and columns, where a node is to be shown. */
export function netOf(
  { columns, rows }: Pick<Terrain, "columns" | "rows">,
  every: number,
  shown: (node: number) => boolean = () => true,
): Uint32Array {
  const pairs: number[] = [];
  const join = (node: number, other: number): void => {
    if (shown(node) || shown(other)) pairs.push(node, other);
  };
  for (let row = 0; row < rows; row += 1) {
    for (let column = 0; column < columns; column += 1) {
      const node = row * columns + column;
      if (column + 1 < columns && (row % every === 0 || row === rows - 1)) join(node, node + 1);
      if (row + 1 < rows && (column % every === 0 || column === columns - 1)) join(node, node + columns);
    }
  }
  return Uint32Array.from(pairs);
}

/** Lowest and highest value of a surface. */
export function reachOf({ field }: Surface): readonly [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (let at = 0; at < field.data.length; at += 1) {
    const value = field.data[at] as number;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return [low * field.scale + field.zero, high * field.scale + field.zero];
}

function stops(count: number, stride: number): number[] {
  const every = Array.from({ length: Math.floor((count - 1) / stride) + 1 }, (_, at) => at * stride);
  return every.at(-1) === count - 1 ? every : [...every, count - 1];
}

function trianglesOf(columns: number, rows: number): Uint32Array {
  const triangles = new Uint32Array(6 * (columns - 1) * (rows - 1));
  let at = 0;
  for (let row = 0; row + 1 < rows; row += 1) {
    for (let column = 0; column + 1 < columns; column += 1) {
      const [sw, nw] = [row * columns + column, (row + 1) * columns + column];
      // The same alternating diagonals as the surface is computed on.
      const cell = (row + column) % 2 === 0 ? [sw, sw + 1, nw + 1, sw, nw + 1, nw] : [sw, sw + 1, nw, sw + 1, nw + 1, nw];
      triangles.set(cell, at);
      at += 6;
    }
  }
  return triangles;
}

function clamped(index: number, count: number): number {
  return Math.min(Math.max(index, 0), count - 1);
}
