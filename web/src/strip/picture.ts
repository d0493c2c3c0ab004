/** The strip as a drawing: the bank as it is seen all round from the water, unrolled. */

import { type SVGTemplateResult, nothing, svg } from "lit";
import type { Job } from "../api/types";
import { type Corner, areasBetween } from "../charts/areas";
import type { Grip, HeightHand } from "../charts/hand";
import { type Box, type ShownGrip, gripHandle, hatches, heightAxis, heightText, lengthAxis, pathOf, pixels, stationText } from "../charts/picture";
import { type Scale, type Span, pixelOf, roomy, spread } from "../charts/scale";
import { format, formatChange } from "../format/units";
import { type Word, say } from "../format/words";
import { units } from "../state/settings";
import { BANKS, type BankBand, type Edge, type EdgePlace, type Spot, bankBands, hasFace, lowSpots, openSpots, pegTicks, placeAt, raisedSpots, reachedSpans, unseamed } from "./edge";
import { CLOTH, flagPlaces, letterOf } from "./flags";
import { type LineName, type NamedLine, inLines, lineNames } from "./names";

export interface StripModel {
  readonly job: Job;
  readonly edge: Edge;
  readonly level: number;
  readonly freeboard: number;
  readonly waterLine: number | null;
  readonly view: Span;
  readonly width: number;
  readonly height: number;
  /** Station of the mark, if any. */
  readonly mark: number | null;
  /** Heights in view; kept still while a hand is on one of them. */
  readonly heights: Span;
}

export interface StripFrame {
  readonly box: Box;
  readonly across: Scale;
  readonly up: Scale;
}

const LOWEST_SPAN = 0.6;
const BAND = 20;
const FLAGS_SHOWN = 6;
const STROKE_APART = 9;
const NARROW = 640;

/** What is shown of deep ground and high banks while looking near the water [m]. */
const UNDER_WATER = 0.45;
const OVER_FREEBOARD = 0.6;

/** Heights that a view of the strip spans, on round tenths so that it does not tremble in a drag. */
export function heightsInView(edge: Edge, level: number, freeboard: number, view: Span, all: boolean): Span {
  const inView = edge.places.filter(({ station }) => station >= view[0] - 1 && station <= view[1] + 1);
  const values = inView.flatMap(({ ground, crest }) => [ground, crest]);
  const deepest = Math.max(0, ...inView.map(({ drop }) => drop));
  const [least, most] = all ? [-Infinity, Infinity] : [level - deepest - UNDER_WATER, level + freeboard + OVER_FREEBOARD];
  const kept = values.map((value) => Math.min(Math.max(value, least), most));
  const [low, high] = roomy([...kept, level - deepest, level, level + freeboard], LOWEST_SPAN);
  return [Math.floor(low * 10) / 10, Math.ceil(high * 10) / 10];
}

/** Where things lie in a strip of that size. */
export function frameOf({ width, height, view, heights }: Pick<StripModel, "width" | "height" | "view" | "heights">): StripFrame {
  const narrow = width < NARROW;
  const box: Box = { left: narrow ? 62 : 92, right: width - (narrow ? 104 : 186), top: 24, bottom: height - BAND - 32 };
  return {
    box,
    across: { values: view, pixels: [box.left, box.right] },
    up: { values: heights, pixels: [box.bottom, box.top] },
  };
}

/** The whole drawing with the names of its lines; `shows` is told which low spot was pressed. */
export function stripPicture(model: StripModel, frame: StripFrame, named: readonly LineName[], hand: HeightHand, shows: (spot: Spot) => void): SVGTemplateResult {
  const { box, across, up } = frame;
  const { edge, level, freeboard, waterLine, width } = model;
  const inView = piece(edge, model.view);
  const at = ([station, height]: Corner): readonly [number, number] => [pixelOf(across, station), pixelOf(up, height)];
  const line = (height: (place: EdgePlace) => number) => pathOf(inView.map((place) => at([place.station, height(place)])));
  const areas = (upper: (place: EdgePlace) => number, lower: (place: EdgePlace) => number) =>
    areasBetween(inView, upper, lower).map((area) => pathOf(area.map(at), true)).join("");
  const crest = (place: EdgePlace): number => place.crest;
  const ground = (place: EdgePlace): number => place.ground;
  const water = steps(inView, level, at);
  const wanted = steps(inView, level + freeboard, at);
  const under = (pixelsDown: number): string => pathOf(water.map(([x, y]) => [x, y + pixelsDown] as const));
  const bank = `${line(crest)}L${pixels(box.right)} ${box.bottom}L${pixels(box.left)} ${box.bottom}Z`;
  return svg`
    ${hatches("strip")}
    <defs><clipPath id="strip-clip"><rect x=${box.left} y=${box.top - 24} width=${box.right - box.left} height=${box.bottom - box.top + 24} /></clipPath></defs>
    ${heightAxis(box, up, waterLine)}
    <g clip-path="url(#strip-clip)">
      <path class="bank" d=${bank} />
      <path class="water" d=${`${pathOf(water)}L${pixels(box.right)} ${box.bottom}L${pixels(box.left)} ${box.bottom}Z`} />
      <path fill="url(#strip-dig)" d=${areas(ground, crest)} />
      <path fill="url(#strip-raise)" d=${areas(crest, ground)} />
      <path fill="url(#strip-low)" d=${areas((place) => (place.opening ? place.rim : level + freeboard - place.drop), ({ rim }) => rim)} />
      <path class="ground-line" d=${line(ground)} />
      <path class="cut-face" data-testid="strip-cut-face" d=${cutFaces(inView, frame)} />
      <path class="rim-line" d=${line(crest)} />
      <path class="water-lining" d=${under(5) + under(9)} />
      <path class="water-line" d=${pathOf(water)} />
      <path class="freeboard-line" d=${pathOf(wanted)} />
      ${waterBelow(inView, frame)} ${stoneTop(inView, frame)} ${linerEdge(inView, frame)}
      ${named.map(({ text, kind, x, y }) => svg`<text class="line-name ${kind}" x=${pixels(x)} y=${pixels(y)}>${text}</text>`)}
      ${flags(model, frame, shows)}
    </g>
    ${bands(model, frame)}
    ${lengthAxis(box, across, box.bottom + 6 + BAND)}
    ${grips(model, frame, hand, width)}
    ${model.mark === null ? nothing : markLine(model, frame, model.mark)}`;
}

/** The groundwater of the wet season along the shore, and the liner that must hold it. */
function waterBelow(inView: readonly EdgePlace[], { across, up }: StripFrame): SVGTemplateResult {
  const line = (height: (place: EdgePlace) => number | null): string =>
    pathOf(inView.flatMap((place) => (height(place) === null ? [] : [[pixelOf(across, place.station), pixelOf(up, height(place) as number)] as const])));
  const below = line((place) => place.below);
  if (!below) return svg``;
  return svg`<path class="liner-line" d=${line((place) => place.liner)} />
    <path class="groundwater-line" data-testid="strip-groundwater" d=${below} />`;
}

/** Top of the stone along the shore; where none stands the line breaks off. */
function stoneTop(inView: readonly EdgePlace[], { across, up }: StripFrame): SVGTemplateResult {
  const runs: (readonly [number, number])[][] = [];
  inView.forEach(({ station, stoneTop: height }, at) => {
    if (height === null) return;
    const corner = [pixelOf(across, station), pixelOf(up, height)] as const;
    if (at > 0 && inView[at - 1]?.stoneTop !== null) runs.at(-1)?.push(corner);
    else runs.push([corner]);
  });
  const drawn = runs.filter((run) => run.length > 1);
  const [first] = drawn;
  if (!first) return svg``;
  return svg`<path class="stone-top" data-testid="strip-stone-top" d=${drawn.map((run) => pathOf(run)).join("")} />`;
}

/** Short strokes on the crest wherever a cut face rises on behind it. */
function cutFaces(inView: readonly EdgePlace[], { box, across, up }: StripFrame): string {
  let last = -Infinity;
  return inView
    .filter(hasFace)
    .flatMap(({ station, crest }) => {
      const x = pixelOf(across, station);
      if (x - last < STROKE_APART) return [];
      last = x;
      return [`M${pixels(x)} ${pixels(Math.min(pixelOf(up, crest), box.bottom))}v-7`];
    })
    .join("");
}

/** Where the liner ends along the shore; it must stay over the water all round. */
function linerEdge(inView: readonly EdgePlace[], { across, up }: StripFrame): SVGTemplateResult {
  const known = inView.flatMap(({ station, linerEdge: height }) => (height === null ? [] : [[pixelOf(across, station), pixelOf(up, height)] as const]));
  if (known.length < 2) return svg``;
  return svg`<path class="liner-edge" data-testid="strip-liner-edge" d=${pathOf(known)} />`;
}

/** A height over the water along the edge: level from fall to fall, upright at each. */
function steps(inView: readonly EdgePlace[], height: number, at: (corner: Corner) => readonly [number, number]): (readonly [number, number])[] {
  return inView.flatMap((place, index) => {
    const before = inView[index - 1];
    const here = at([place.station, height - place.drop]);
    return before && before.drop !== place.drop ? [at([place.station, height - before.drop]), here] : [here];
  });
}

/** Words of a spot: what is missing, or what opens, and where. */
export function spotWords(spot: Spot, level: number): string {
  const { opening } = spot.lowest;
  if (opening && isOpen(spot)) return say(`shore.${opening.kind}`, { name: opening.name, over: overText(spot, level), station: stationText(spot.lowest.station) });
  return say(`shore.${spot.kind}`, {
    short: format(spot.short, "length", units.value),
    over: format(Math.max(level - spot.lowest.drop - spot.lowest.rim, 0), "length", units.value),
    station: stationText(spot.lowest.station),
    length: format(spot.length, "length", units.value, { digits: 0 }),
  });
}

function isOpen({ kind }: Spot): boolean {
  return kind === "mouth" || kind === "overflow";
}

/** How far the rim of a spot stands over its water. */
function overText({ lowest }: Spot, level: number): string {
  return format(Math.max(lowest.rim - level + lowest.drop, 0), "length", units.value);
}

/** The few words beside a flag. */
function flagWords(spot: Spot, level: number): string {
  const { opening } = spot.lowest;
  if (opening && isOpen(spot)) return say(`shore.${opening.kind}Short`, { name: opening.name, over: overText(spot, level) });
  return say(spot.kind === "raise" ? "shore.raiseShort" : "shore.lowShort", { short: format(spot.short, "length", units.value) });
}

/** The spots that carry a letter: low ones first, then ground to be raised where the bank itself is good. */
export function flagged({ edge, level, freeboard }: Pick<StripModel, "edge" | "level" | "freeboard">): Spot[] {
  return [...lowSpots(edge, level, freeboard), ...raisedSpots(edge, level, freeboard)].slice(0, FLAGS_SHOWN);
}

/** Name of a bank type, as people call it. */
export function bankName(job: Job, bankType: string | null, isBank = false): string {
  if (bankType === null && isBank) return say("shore.streamBed");
  return bankType === null ? say("shape.standard") : job.shape.bank_types?.[bankType]?.name || bankType;
}

/** What stands at the mark, in one line. */
export function readingAt(model: Pick<StripModel, "edge" | "level" | "waterLine" | "freeboard">, station: number): string {
  const place = placeAt(model.edge, station);
  const spare = place.crest - model.level + place.drop - model.freeboard;
  const reading = say("shore.reading", {
    station: stationText(station),
    ground: heightText(place.ground, model.waterLine),
    rim: heightText(place.crest, model.waterLine),
    spare: formatChange(spare, "length", units.value),
  });
  return hasFace(place) ? `${reading} · ${say("shore.face")}` : reading;
}

/** Names and values by which the two lines are taken hold of. */
export function gripsOf(model: Pick<StripModel, "edge" | "level" | "freeboard">): { grip: Grip; name: string; text: string; height: number }[] {
  const { body } = model.edge;
  return [
    { grip: { name: "level", body }, name: say("shore.level"), text: format(model.level, "elevation", units.value), height: model.level },
    {
      grip: { name: "freeboard", body },
      name: say("shore.freeboard"),
      text: formatChange(model.freeboard, "length", units.value),
      height: model.level + model.freeboard,
    },
  ];
}

function grips(model: StripModel, { box, up }: StripFrame, hand: HeightHand, width: number): SVGTemplateResult {
  const own = gripsOf(model);
  const ys = own.map(({ height }) => pixelOf(up, height));
  const labels = spread(ys, 28);
  const named = (one: { name: string; text: string }): string => (width < NARROW ? one.text : `${one.name} ${one.text}`);
  const shown = own.map((one, at): ShownGrip => ({ ...one, label: named(one), y: ys[at] as number, labelY: labels[at] as number }));
  return svg`<g>${shown.map((one) => gripHandle(box, width, up, hand, one))}</g>`;
}

function piece(edge: Edge, view: Span): EdgePlace[] {
  const inner = edge.places.filter(({ station }) => station > view[0] && station < view[1]);
  return [placeAt(edge, view[0]), ...inner, placeAt(edge, view[1])];
}

/** A line and how it is drawn, for the key under a strip that has no room for its name. */
export interface KeyLine {
  readonly text: string;
  readonly drawn: string;
}

/** Every line named on itself, the names clear of each other; on a narrow strip what has no room goes into the key. */
export function namesOf(model: StripModel, { box, across, up }: StripFrame): { named: LineName[]; key: KeyLine[] } {
  const inView = piece(model.edge, model.view);
  const line = (word: Word, kind: string, drawn: string, height: (place: EdgePlace) => number | null): NamedLine & KeyLine => ({
    text: say(word),
    kind,
    drawn,
    points: inView.flatMap((place) => (height(place) === null ? [] : [[pixelOf(across, place.station), pixelOf(up, height(place) as number)] as const])),
  });
  const lines = [
    line("shore.rim", "rim", "rim-line", ({ crest }) => crest),
    line("shore.ground", "ground", "ground-line", ({ ground }) => ground),
    line("strip.linerEdge", "", "liner-edge", ({ linerEdge: height }) => height),
    line("shore.stoneTop", "stone-name", "stone-top", ({ stoneTop: height }) => height),
    line("groundwater.line.water", "water-name", "groundwater-line", ({ below }) => below),
    line("shore.face", "", "cut-face", (place) => (hasFace(place) ? place.crest : null)),
  ];
  const narrow = model.width < NARROW;
  const named = lineNames(lines, box, narrow);
  const key = narrow ? lines.filter(({ text, points }) => points.length > 1 && !named.some((one) => one.text === text)) : [];
  return { named, key };
}

function flags(model: StripModel, { box, across, up }: StripFrame, shows: (spot: Spot) => void): SVGTemplateResult {
  const lettered = flagged(model).map((spot, at) => ({ spot, letter: letterOf(at) }));
  const open = openSpots(model.edge, model.level, model.freeboard).map((spot) => ({ spot, letter: "" }));
  const shown = [...lettered, ...open]
    .map((flag) => ({ ...flag, x: pixelOf(across, flag.spot.lowest.station), words: flagWords(flag.spot, model.level) }))
    .filter(({ x }) => x >= box.left && x <= box.right);
  const places = flagPlaces(shown, box);
  return svg`${shown.map(({ spot, letter, x, words: short }, at) => {
    const place = places[at];
    if (!place) return nothing;
    const y = Math.min(pixelOf(up, spot.kind === "raise" ? spot.lowest.ground : spot.lowest.rim), box.bottom);
    const words = spotWords(spot, model.level);
    return svg`<g class="flag ${spot.kind}" role="button" tabindex="0" aria-label=${letter ? `${letter} ${short}: ${words}` : words} data-testid="spot-${spot.kind}"
        @click=${() => shows(spot)} @pointerdown=${(event: Event) => event.stopPropagation()}
        @keydown=${(event: KeyboardEvent) => { if (event.key === "Enter" || event.key === " ") { event.preventDefault(); shows(spot); } }}>
      <title>${words}</title>
      <path class="pole" d="M${pixels(x)} ${pixels(y)}V${box.top - 22}" />
      <path class="cloth" d="M${pixels(place.cloth)} ${box.top - 22}h${CLOTH}v16h-${CLOTH}z" />
      <text class="number" x=${pixels(place.cloth + CLOTH / 2)} y=${box.top - 10} text-anchor="middle">${letter}</text>
      ${place.words ? svg`<text class="words" x=${pixels(place.words.x)} y=${box.top - 10} text-anchor=${place.words.anchor}>${short}</text>` : nothing}
    </g>`;
  })}`;
}

function bands(model: StripModel, { box, across }: StripFrame): SVGTemplateResult {
  const y = box.bottom + 6;
  const kinds = bankBands(model.edge, model.job);
  const names = [...new Set(kinds.map(({ bankType }) => bankType))];
  const clipped = kinds.flatMap((band) => unseamed(band, model.edge.length).map(([from, to]) => ({ ...band, from, to })));
  return svg`<g class="bands">
    ${reachedBand(model, across, box, y)}
    ${clipped.map((band) => bandPiece(model, band, names.indexOf(band.bankType), across, box, y))}
    ${pegs(model, across, box, y)}
  </g>`;
}

/** The parts that a way reaches, as a thick line over the bank types. */
function reachedBand({ edge }: StripModel, across: Scale, box: Box, y: number): SVGTemplateResult {
  const spans = reachedSpans(edge) ?? [];
  const pieces = spans.map(([from, to]) => [Math.max(pixelOf(across, from), box.left), Math.min(pixelOf(across, to), box.right)] as const).filter(([from, to]) => to - from >= 1);
  return svg`<g class="reached" data-testid="strip-reached"><title>${say("shore.reached")}</title>
    ${pieces.map(([from, to]) => svg`<rect x=${pixels(from)} y=${y - 8} width=${pixels(to - from)} height="6" />`)}</g>`;
}

function bandPiece({ job, edge }: StripModel, band: BankBand, tone: number, across: Scale, box: Box, y: number): SVGTemplateResult | typeof nothing {
  const from = Math.max(pixelOf(across, band.from), box.left);
  const to = Math.min(pixelOf(across, band.to), box.right);
  if (to - from < 1) return nothing;
  const name = bankName(job, band.bankType, BANKS.has(edge.ring));
  const room = Math.floor((to - from - 8) / 6.8);
  const shown = name.length <= room ? name : room > 4 ? `${name.slice(0, room - 1).trim()}…` : "";
  return svg`<g class="band tone-${tone % 3}">
    <title>${say("shore.bandTitle", { name, from: format(band.from, "length", units.value, { digits: 0 }), to: format(band.to, "length", units.value, { digits: 0 }) })}</title>
    <rect x=${pixels(from)} y=${y} width=${pixels(to - from)} height=${BAND} />
    ${shown ? svg`<text x=${pixels((from + to) / 2)} y=${y + 15.5} text-anchor="middle">${shown}</text>` : nothing}
  </g>`;
}

function pegs(model: StripModel, across: Scale, box: Box, y: number): SVGTemplateResult {
  const own = pegTicks(model.edge, model.job)
    .map((peg) => ({ ...peg, x: pixelOf(across, peg.station) }))
    .filter(({ x }) => x >= box.left && x <= box.right);
  const apart = (box.right - box.left) / Math.max(own.length, 1);
  const named = apart > 44;
  return svg`${own.map(({ id, x }) => svg`<g class="peg" aria-hidden="true">
    <path d=${apart > 16 ? `M${pixels(x)} ${y - 5}l4 5l-4 5l-4 -5z` : `M${pixels(x)} ${y - 4}v8`} />
    ${named ? svg`<text x=${pixels(x + 6)} y=${y - 1}>${id}</text>` : nothing}
  </g>`)}`;
}

function markLine(model: StripModel, { box, across, up }: StripFrame, station: number): SVGTemplateResult {
  const x = pixelOf(across, station);
  if (x < box.left - 1 || x > box.right + 1) return svg``;
  const place = placeAt(model.edge, station);
  const right = x > (box.left + box.right) / 2;
  const lines = inLines(readingAt(model, station), (right ? x - box.left : box.right - x) - 8);
  return svg`<g class="mark" data-testid="strip-mark" aria-hidden="true">
    <path d="M${pixels(x)} ${box.top}V${box.bottom + 6 + BAND}" />
    <circle cx=${pixels(x)} cy=${pixels(pixelOf(up, place.crest))} r="4" />
    ${lines.map((words, at) => svg`<text class="reading" x=${pixels(right ? x - 8 : x + 8)} y=${box.top + 12 + 15 * at} text-anchor=${right ? "end" : "start"}>${words}</text>`)}
  </g>`;
}
