/** Colours and hatches of the ground, so that no meaning hangs on colour alone. */

import { colour, rgb, symbol } from "./ink";
import type { Ground } from "./shown-layers";

type Rgb = readonly [number, number, number];

export interface Hatch {
  has(value: number): boolean;
  /** One tile of the hatch. */
  pattern(pixelRatio: number): HTMLCanvasElement;
}

export interface Tint {
  /** Colour of a value as it came, as the number that a picture keeps. */
  colour(value: number): number;
  readonly hatches: readonly Hatch[];
}

const SEEN = 0.02; // metres of digging or raising that are worth showing, as on paper
const STRONGEST = 2.0; // metres
const DEEPEST = 2.5; // metres
const OPACITY = 190;
const ENTRIES = 512;

/** How a ground is coloured; `scale` and `zero` bring an element of the array to its own unit. */
export function tintOf(ground: Ground, scale: number, zero: number): Tint {
  const value = (raw: number): number => raw * scale + zero;
  if (ground === "moved") return moved(value);
  if (ground === "depth") return depth(value);
  if (ground === "slope") return slope(value);
  return known();
}

function moved(value: (raw: number) => number): Tint {
  const digs = ramp([rgb("dig-1"), rgb("dig-2"), rgb("dig-3")]);
  const raises = ramp([rgb("raise-1"), rgb("raise-2"), rgb("raise-3")]);
  return {
    colour: (raw) => {
      const metres = value(raw);
      const share = (Math.abs(metres) - SEEN) / STRONGEST;
      return share < 0 ? 0 : (metres < 0 ? digs : raises)(share);
    },
    hatches: [
      { has: (raw) => value(raw) < -SEEN, pattern: strokes(colour(symbol("dig").token, colour("dig-3")), 9) },
      { has: (raw) => value(raw) > SEEN, pattern: dots(colour(symbol("placed").token, colour("raise-3")), 8) },
    ],
  };
}

function depth(value: (raw: number) => number): Tint {
  const deep = ramp([mixed(rgb("paper"), rgb("water"), 0.5), rgb("water"), rgb("shore")]);
  return { colour: (raw) => (value(raw) <= 0.005 ? 0 : deep(value(raw) / DEEPEST)), hatches: [] };
}

/** Slopes as rise per run: up to 1:20 left plain, steeper than 1:2 hatched. */
function slope(value: (raw: number) => number): Tint {
  const steep = ramp([mixed(rgb("paper"), rgb("rule"), 0.25), rgb("rule"), rgb("ink")]);
  return {
    colour: (raw) => (value(raw) < 0.05 ? 0 : steep((value(raw) - 0.05) / 0.75)),
    hatches: [{ has: (raw) => value(raw) > 0.5, pattern: strokes(colour("ink"), 7) }],
  };
}

/** 1 shot, 2 between shots, 3 guessed beyond them. */
function known(): Tint {
  const between = packed(mixed(rgb("paper"), rgb("rule"), 0.3), 120);
  const guessed = packed(mixed(rgb("paper"), rgb("look"), 0.35), 150);
  return {
    colour: (raw) => (raw === 3 ? guessed : raw === 2 ? between : 0),
    hatches: [{ has: (raw) => raw === 3, pattern: strokes(colour("look"), 10) }],
  };
}

/** Table from a share 0 to 1 to the colours along a row of them. */
function ramp(colours: readonly [Rgb, Rgb, Rgb]): (share: number) => number {
  const table = Uint32Array.from({ length: ENTRIES }, (_, at) => {
    const along = (at / (ENTRIES - 1)) * 2;
    const [from, to] = along < 1 ? [colours[0], colours[1]] : [colours[1], colours[2]];
    return packed(mixed(from, to, along < 1 ? along : along - 1), OPACITY);
  });
  return (share) => table[Math.max(0, Math.min(ENTRIES - 1, Math.floor(share * ENTRIES)))] as number;
}

function mixed(from: Rgb, to: Rgb, share: number): Rgb {
  const part = (at: 0 | 1 | 2): number => from[at] + (to[at] - from[at]) * share;
  return [part(0), part(1), part(2)];
}

/** Pixels of a picture are kept as alpha, blue, green, red from the high end on. */
function packed([red, green, blue]: Rgb, opacity: number): number {
  return ((opacity << 24) | (Math.round(blue) << 16) | (Math.round(green) << 8) | Math.round(red)) >>> 0;
}

function strokes(ink: string, gap: number): (pixelRatio: number) => HTMLCanvasElement {
  return (pixelRatio) =>
    tile(gap * pixelRatio, (context, size) => {
      context.strokeStyle = ink;
      context.lineWidth = pixelRatio * 0.9;
      context.beginPath();
      for (const shift of [-size, 0, size]) {
        context.moveTo(shift - 1, size + 1);
        context.lineTo(shift + size + 1, -1);
      }
      context.stroke();
    });
}

function dots(ink: string, gap: number): (pixelRatio: number) => HTMLCanvasElement {
  return (pixelRatio) =>
    tile(gap * pixelRatio, (context, size) => {
      context.fillStyle = ink;
      for (const [x, y] of [[0.25, 0.25], [0.75, 0.75]] as const) {
        context.beginPath();
        context.arc(x * size, y * size, pixelRatio, 0, 2 * Math.PI);
        context.fill();
      }
    });
}

function tile(size: number, draw: (context: CanvasRenderingContext2D, size: number) => void): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(2, Math.round(size));
  canvas.height = canvas.width;
  const context = canvas.getContext("2d");
  if (context) draw(context, canvas.width);
  return canvas;
}
