/** Small signs drawn by hand, each kind of thing with an outline of its own: a number or a colour never tells alone. */

import Icon from "ol/style/Icon";
import { colour, looks } from "../ink";

const SIZE = 28; // pixels

export type SignName = "seat" | "window" | "stop" | "light" | "pile" | "gate" | "stones" | "wheels" | "standpipe" | "seep" | "spring" | "outlet" | "sump" | "boot" | "patch" | "digger";

type Draw = (pen: CanvasRenderingContext2D) => void;

/** Each in a square of 28 pixels, its middle on the place. */
const SIGNS: Readonly<Record<SignName, Draw>> = {
  /** A bench from the front: back, seat, two legs. */
  seat: (pen) => {
    shape(pen, [[5, 6], [23, 6], [23, 12], [25, 12], [25, 17], [22, 17], [22, 22], [19, 22], [19, 17], [9, 17], [9, 22], [6, 22], [6, 17], [3, 17], [3, 12], [5, 12]]);
    stroke(pen, [[5, 12], [23, 12]]);
  },
  /** A frame with its bars. */
  window: (pen) => {
    shape(pen, [[5, 5], [23, 5], [23, 23], [5, 23]]);
    stroke(pen, [[14, 5], [14, 23]]);
    stroke(pen, [[5, 14], [23, 14]]);
  },
  /** Two soles of somebody who stands. */
  stop: (pen) => {
    for (const [x, y] of [[10, 13], [18, 15]] as const) {
      pen.beginPath();
      pen.ellipse(x, y, 3.4, 6.4, 0, 0, 2 * Math.PI);
      pen.fill();
      pen.stroke();
    }
  },
  /** A lamp with its rays. */
  light: (pen) => {
    for (let turn = 0; turn < 8; turn += 1) {
      const [x, y] = [Math.cos((turn * Math.PI) / 4), Math.sin((turn * Math.PI) / 4)];
      stroke(pen, [[14 + 7 * x, 14 + 7 * y], [14 + 11 * x, 14 + 11 * y]], 2);
    }
    pen.beginPath();
    pen.arc(14, 14, 4.5, 0, 2 * Math.PI);
    pen.fill();
    pen.stroke();
  },
  /** A heap on the ground. */
  pile: (pen) => {
    pen.beginPath();
    pen.moveTo(2, 21);
    pen.quadraticCurveTo(8, 19, 11, 11);
    pen.quadraticCurveTo(14, 4, 17, 11);
    pen.quadraticCurveTo(20, 19, 26, 21);
    pen.closePath();
    pen.fill();
    pen.stroke();
  },
  /** Two posts and a leaf with its brace. */
  gate: (pen) => {
    shape(pen, [[7, 9], [21, 9], [21, 20], [7, 20]]);
    stroke(pen, [[7, 20], [21, 9]]);
    stroke(pen, [[6, 5], [6, 23]], 3);
    stroke(pen, [[22, 5], [22, 23]], 3);
  },
  /** A digger from the side: tracks, cab, boom and stick. */
  digger: (pen) => {
    shape(pen, [[3, 19], [15, 19], [17, 21.5], [15, 24], [3, 24], [1, 21.5]]);
    shape(pen, [[3, 11], [9, 11], [9, 14], [15, 14], [15, 18], [3, 18]]);
    stroke(pen, [[13, 14], [18, 5], [24, 9], [24, 15]], 2.4);
    stroke(pen, [[21.5, 17.5], [26.5, 17.5]], 2.4);
  },
  /** Three stones. */
  stones: (pen) => {
    for (const [x, y, across] of [[9.5, 17.5, 5], [19, 17.5, 4.5], [14, 10.5, 4.5]] as const) {
      pen.beginPath();
      pen.ellipse(x, y, across, 4, 0, 0, 2 * Math.PI);
      pen.fill();
      pen.stroke();
    }
  },
  /** A pipe in the ground with its cap, water standing in it. */
  standpipe: (pen) => {
    shape(pen, [[10, 4], [18, 4], [18, 24], [10, 24]]);
    stroke(pen, [[8, 4], [20, 4]], 3);
    pen.fillStyle = colour("shore");
    pen.fillRect(11.5, 14, 5, 9);
  },
  /** Water that comes out of a slope: a drop under a bank. */
  seep: (pen) => {
    pen.beginPath();
    pen.moveTo(14, 5);
    pen.bezierCurveTo(20, 13, 21, 16, 21, 18);
    pen.arc(14, 18, 7, 0, Math.PI);
    pen.bezierCurveTo(7, 16, 8, 13, 14, 5);
    pen.closePath();
    pen.fill();
    pen.stroke();
    stroke(pen, [[4, 5], [24, 5]], 2);
  },
  /** An eye of water with rings around it. */
  spring: (pen) => {
    pen.beginPath();
    pen.arc(14, 14, 10, 0, 2 * Math.PI);
    pen.fill();
    pen.stroke();
    pen.beginPath();
    pen.arc(14, 14, 5.5, 0, 2 * Math.PI);
    pen.stroke();
    pen.fillStyle = pen.strokeStyle;
    pen.beginPath();
    pen.arc(14, 14, 2, 0, 2 * Math.PI);
    pen.fill();
  },
  /** The mouth of a pipe in its wall. */
  outlet: (pen) => {
    shape(pen, [[4, 5], [24, 5], [24, 23], [4, 23]]);
    pen.fillStyle = colour("shore");
    pen.beginPath();
    pen.arc(14, 15, 6, 0, 2 * Math.PI);
    pen.fill();
    pen.stroke();
  },
  /** A pit with water at its bottom, and the way up. */
  sump: (pen) => {
    shape(pen, [[6, 4], [22, 4], [22, 24], [6, 24]]);
    pen.fillStyle = colour("shore");
    pen.fillRect(7, 17, 14, 6);
    stroke(pen, [[14, 20], [14, 8]], 2);
    stroke(pen, [[10.5, 11.5], [14, 8], [17.5, 11.5]], 2);
  },
  /** A pipe seen from its end, with the collar of its boot. */
  boot: (pen) => {
    shape(pen, [[4, 4], [24, 4], [24, 24], [4, 24]]);
    pen.beginPath();
    pen.arc(14, 14, 6.5, 0, 2 * Math.PI);
    pen.stroke();
    stroke(pen, [[14, 9], [14, 19]]);
    stroke(pen, [[9, 14], [19, 14]]);
  },
  /** A square sewn on, with its stitches. */
  patch: (pen) => {
    shape(pen, [[5, 5], [23, 5], [23, 23], [5, 23]]);
    pen.setLineDash([2.5, 2.5]);
    stroke(pen, [[8.5, 8.5], [19.5, 8.5], [19.5, 19.5], [8.5, 19.5], [8.5, 8.5]], 1.25);
    pen.setLineDash([]);
  },
  /** Somebody in a wheelchair, on a disc. */
  wheels: (pen) => {
    pen.fillStyle = colour("good");
    pen.strokeStyle = colour("paper");
    pen.beginPath();
    pen.arc(14, 14, 12, 0, 2 * Math.PI);
    pen.fill();
    pen.stroke();
    pen.fillStyle = colour("paper");
    pen.beginPath();
    pen.arc(12.5, 7.4, 1.9, 0, 2 * Math.PI);
    pen.fill();
    stroke(pen, [[12.5, 10.6], [12.5, 15], [16.8, 15], [18.8, 19.4]], 2.2);
    pen.lineWidth = 1.7;
    pen.beginPath();
    pen.arc(13, 17, 4.4, -0.2, 1.25 * Math.PI);
    pen.stroke();
  },
};

const made = new Map<string, Icon>();
let look = -1;

/** Sign of a kind, drawn once for each look of the page. */
export function sign(name: SignName, chosen = false): Icon {
  if (look !== looks.value) made.clear();
  look = looks.value;
  const key = `${name} ${chosen}`;
  const icon = made.get(key) ?? new Icon({ img: drawn(SIGNS[name], chosen), declutterMode: "none" });
  made.set(key, icon);
  return icon;
}

function drawn(draw: Draw, chosen: boolean): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [SIZE, SIZE];
  const pen = canvas.getContext("2d");
  if (pen === null) return canvas;
  pen.lineJoin = "round";
  pen.lineCap = "round";
  pen.fillStyle = colour("paper");
  pen.strokeStyle = colour(chosen ? "select" : "ink");
  pen.lineWidth = chosen ? 3 : 1.75;
  draw(pen);
  return canvas;
}

function shape(pen: CanvasRenderingContext2D, points: readonly (readonly [number, number])[]): void {
  trace(pen, points);
  pen.closePath();
  pen.fill();
  pen.stroke();
}

function stroke(pen: CanvasRenderingContext2D, points: readonly (readonly [number, number])[], width = pen.lineWidth): void {
  const before = pen.lineWidth;
  pen.lineWidth = width;
  trace(pen, points);
  pen.stroke();
  pen.lineWidth = before;
}

function trace(pen: CanvasRenderingContext2D, points: readonly (readonly [number, number])[]): void {
  pen.beginPath();
  points.forEach(([x, y], at) => (at === 0 ? pen.moveTo(x, y) : pen.lineTo(x, y)));
}
