/** The job document and what the server says of it, as JSON. Checked against the JSON Schema in a test. */

import type { Json, Op } from "../state/ops";
import type { EarthOfJob } from "./earth";
import type { SurveyOfSite } from "./survey";
import type { Item, LiningOfJob } from "./lining";
import type { StoneOfJob } from "./stone";
import type { GroundwaterOfJob } from "./water";

export type ShownUnits = "us" | "us_inch" | "metric";
export type Grade = "stop" | "look" | "good";
export type Rows<T> = Readonly<Record<string, T>>;

export interface Point {
  readonly east: number;
  readonly north: number;
}

export interface Peg extends Point {
  readonly id: string;
  readonly corner?: boolean;
}

export interface Curve {
  readonly pegs: readonly Peg[];
}

export interface Row {
  readonly name?: string;
  readonly note?: string;
  readonly files?: readonly string[];
  readonly status?: "existing" | "keep" | "remove" | "new" | "later";
  readonly stage?: string | null;
}

export type Place =
  | ({ readonly at: "point" } & Point)
  | { readonly at: "line"; readonly points: readonly Point[] }
  | { readonly at: "ring"; readonly curve: Curve }
  | { readonly at: "stretch"; readonly body: string; readonly ring?: string; readonly start: string; readonly end: string }
  | { readonly at: "part"; readonly body: string; readonly zone: number }
  | { readonly at: "whole"; readonly body?: string | null };

export interface Shot extends Row {
  readonly place:
    | ({ readonly by: "coordinates" } & Point)
    | ({ readonly by: "book" | "grid" | "offset" | "bearing" | "tapes" } & Readonly<Record<string, unknown>>);
  readonly elevation?: number | null;
  readonly code?: string;
  readonly surface?: "ground" | "muck" | "firm" | "water" | "structure";
  readonly survey?: string | null;
  readonly sigma?: number | null;
}

export interface SurveyLine extends Row {
  readonly kind: "break" | "limit" | "void" | "paint";
  readonly shots?: readonly string[];
  readonly line?: readonly Point[];
}

export interface Thing extends Row {
  readonly kind: string;
  readonly place: Place;
  readonly size?: number | null;
  readonly height?: number | null;
  readonly depth?: number | null;
  readonly clear?: number | null;
  readonly service?: Service | null;
  readonly private?: boolean;
  readonly sure?: number | null;
  readonly ticket?: string;
  readonly marked_until?: string | null;
}

export type Service = "water" | "gas" | "electric" | "communications" | "sewer" | "drain" | "irrigation" | "heat" | "other";
export type BoundKind = "boundary" | "setback" | "easement" | "septic" | "well" | "flood" | "wetland" | "stream" | "tree" | "other";

/** A line not to cross. */
export interface Bound extends Row {
  readonly kind: BoundKind;
  readonly place: Place;
  readonly keep?: "inside" | "outside" | null;
  readonly clear?: number;
}

export interface WalkAnswer extends Row {
  readonly ask?: string;
  readonly answer?: "fine" | "trouble" | "none" | "not_looked";
  readonly says?: string;
  readonly place?: ({ readonly at: "point" } & Point) | null;
}

export interface Person extends Row {
  readonly role?: string;
  readonly reach?: string;
}

export interface Wish extends Row {
  readonly text: string;
  readonly becomes?: string | null;
  readonly figure?: string | null;
  readonly at_least?: number | null;
  readonly at_most?: number | null;
}

export interface Permit extends Row {
  readonly authority: string;
  readonly need: string;
  readonly number?: string;
  readonly granted?: boolean;
  readonly until?: string | null;
  readonly expires?: string | null;
  readonly blocks?: string;
}

export interface Brief {
  readonly client?: string;
  readonly address?: string;
  readonly found_us?: string;
  readonly decides?: string;
  readonly old_pond?: boolean | null;
  readonly size_guess?: number | null;
  readonly budget?: number | null;
  readonly currency?: string;
  readonly first_asked?: string | null;
  readonly next_step?: string;
  readonly next_on?: string | null;
  readonly dig_from?: string | null;
  readonly done_by?: string | null;
  readonly people?: Rows<Person>;
  readonly wishes?: Rows<Wish>;
  readonly permits?: Rows<Permit>;
}

/** One point of a picture, in pixels from its left and top, tied to the plan. */
export interface Tie extends Point {
  readonly across: number;
  readonly down: number;
}

export interface Underlay extends Row {
  readonly file: string;
  readonly ties?: readonly Tie[];
}

export interface SoilLayer {
  readonly kind: "topsoil" | "clay" | "silt" | "sand" | "gravel" | "rock" | "muck";
  readonly thickness?: number | null;
  readonly bulking?: number | null;
  readonly compaction?: number | null;
  readonly bank_density?: number | null;
}

export interface Soil extends Row {
  readonly place: Place;
  readonly layers: readonly SoilLayer[];
}

export interface Stretch {
  readonly ring?: string;
  readonly start: string;
  readonly end: string;
  readonly bank_type: string;
  readonly blend?: number | null;
}

/** A fall of a stream. */
export interface Step {
  /** Along the stream from its upper end. */
  readonly distance: number;
  readonly drop: number;
}

export interface CorridorOutline {
  readonly form: "corridor";
  /** The middle line, downstream. */
  readonly curve: Curve;
  /** One at each peg. */
  readonly widths: readonly number[];
  readonly bed?: readonly number[];
  readonly steps?: readonly Step[];
}

export interface Body extends Row {
  readonly role?: string;
  readonly rank?: number;
  readonly outline: { readonly form: "ring"; readonly curve: Curve } | CorridorOutline;
  readonly islands?: Rows<Curve>;
  readonly level?: number | null;
  readonly low_level?: number | null;
  readonly bank_type?: string | null;
  readonly stretches?: Rows<Stretch>;
  readonly floor_fall?: number | null;
  readonly low_spot?: Point | null;
  readonly keep_balanced?: boolean;
}

export interface BankType extends Row {
  readonly points: readonly { readonly distance: number; readonly depth: number }[];
  readonly zone_names?: readonly string[];
}

export interface Berm extends Row {
  readonly body: string;
  readonly crest_width?: number | null;
  readonly freeboard?: number | null;
  readonly settlement?: number | null;
  readonly slope_in?: number | null;
  readonly slope_out?: number | null;
}

export interface Mound extends Row {
  readonly place: Place;
  /** Over the ground under it. */
  readonly height: number;
  readonly slope?: number | null;
  readonly settlement?: number | null;
}

export type WayKind = "path" | "bridge" | "deck" | "steps" | "wall" | "bed" | "pad" | "fence" | "light";

/** A gate of a fence: where its middle is along it, and how wide. */
export interface Gate {
  readonly distance: number;
  readonly width?: number | null;
}

export interface Way extends Row {
  readonly kind: WayKind;
  readonly place: Place;
  readonly width?: number | null;
  /** Null follows the ground. */
  readonly level?: number | null;
  /** At the last point, of a ramp or steps. */
  readonly end_level?: number | null;
  readonly most_riser?: number | null;
  /** Level top of a wall or a rail. */
  readonly top?: number | null;
  /** Of a wall, a fence or a light: over the higher ground beside it. */
  readonly height?: number | null;
  readonly open_share?: number;
  readonly gates?: readonly Gate[];
  readonly aims_at?: Point | null;
}

export type SeatKind = "seat" | "window" | "stop";

export interface Seat extends Row {
  readonly kind?: SeatKind;
  readonly place: Place;
  readonly eye_height?: number | null;
  readonly looks_at?: readonly Place[];
}

/** A line along which a section is drawn on paper. */
export interface SectionLine extends Row {
  readonly line: readonly Point[];
}

export interface Rule {
  readonly limit?: number | null;
  readonly accepted?: boolean;
  readonly reason: string;
  readonly by: string;
}

export interface Job {
  readonly format: number;
  readonly id: string;
  readonly name: string;
  readonly demo?: boolean;
  readonly shown_units: ShownUnits;
  readonly site: {
    readonly frame?: { readonly true_north?: number; readonly datum_note?: string } & Readonly<Record<string, unknown>>;
    readonly shots?: Rows<Shot>;
    readonly lines?: Rows<SurveyLine>;
    readonly things?: Rows<Thing>;
    readonly underlays?: Rows<Underlay>;
    readonly soils?: Rows<Soil>;
    readonly bounds?: Rows<Bound>;
    readonly walk?: Rows<WalkAnswer>;
    readonly [section: string]: unknown;
  } & SurveyOfSite;
  readonly shape: {
    readonly bodies?: Rows<Body>;
    readonly bank_types?: Rows<BankType>;
    readonly berms?: Rows<Berm>;
    readonly sections?: Rows<SectionLine>;
    readonly slopes?: { readonly cut?: number | null; readonly fill?: number | null };
    readonly mounds?: Rows<Mound>;
    readonly ways?: Rows<Way>;
    readonly seats?: Rows<Seat>;
    readonly [section: string]: unknown;
  };
  readonly earth?: EarthOfJob;
  readonly groundwater?: GroundwaterOfJob;
  readonly lining?: LiningOfJob;
  readonly stone?: StoneOfJob;
  readonly catalogue?: Rows<Item>;
  readonly rules?: Rows<Rule>;
  readonly brief?: Brief;
  readonly [section: string]: unknown;
}

export interface Advice {
  readonly says: string;
  readonly ops: readonly Op[];
}

export interface Finding {
  readonly code: string;
  readonly grade: Grade;
  readonly says: string;
  readonly where: { readonly paths: readonly string[]; readonly points: readonly (readonly [number, number])[] };
  readonly value: number | null;
  readonly limit: number | null;
  readonly operator: string;
  /** Name of the kind of `value` and `limit`. */
  readonly kind: string;
  readonly source: string | null;
  readonly advice: readonly Advice[];
  readonly assumes: readonly string[];
  readonly accepted: string;
}

/** One revision of the history. */
export interface Revision {
  readonly rev: number;
  readonly id: string;
  readonly author: string;
  readonly time: number;
  readonly label: string;
}

export interface KeptEdit extends Revision {
  readonly base: number;
  readonly ops: readonly Op[];
}

export interface Fault {
  readonly path: string;
  readonly rule: string;
  readonly found: string;
}

export interface JobCard {
  readonly id: string;
  readonly name: string;
  readonly state: string;
  readonly archived: boolean;
  readonly demo: boolean;
  readonly shown_units: ShownUnits;
  readonly rev: number;
  readonly created: number;
  readonly changed: number;
  readonly picture?: string;
}

export interface Version {
  readonly name: string;
  readonly rev: number;
  readonly signed_by: string;
  readonly time: number;
  readonly figures: Readonly<Record<string, number>>;
}

/** One stated default that the job relies on; `*` in its path stands for each row. */
export interface DefaultInUse {
  readonly path: string;
  readonly value: number | null;
  readonly kind: string | null;
  readonly says: string;
  readonly source: string;
  readonly count: number;
}

export interface Results {
  readonly rev: number;
  readonly figures: Readonly<Record<string, number | null>>;
  readonly checks: readonly Finding[];
  readonly stages: Readonly<Record<string, { readonly status: string; readonly milliseconds: number }>>;
  readonly defaults: readonly DefaultInUse[];
}

export interface Change {
  readonly path: string;
  readonly before: Json;
  readonly now: Json;
  readonly says?: string;
}

export interface Explanation {
  readonly path: string;
  readonly value: Json;
  readonly kind: string | null;
  readonly says: string;
  readonly stage: string | null;
  readonly status: string;
  readonly method: { readonly name: string; readonly summary: string; readonly formula: string; readonly references: readonly string[] } | null;
  readonly inputs: readonly { readonly path: string; readonly value: Json; readonly kind: string | null; readonly says: string }[];
  readonly defaults: readonly DefaultInUse[];
  readonly before: Json;
  readonly moved_by: readonly Change[];
}

export interface Sheet {
  readonly name: string;
  readonly title: string;
  readonly says?: string;
}

export interface PreviewRow {
  readonly east: number | null;
  readonly north: number | null;
  readonly elevation: number | null;
  readonly code: string;
  readonly name?: string;
  readonly errors: Readonly<Record<string, string>>;
}

export interface ShotsPreview {
  readonly rows: readonly PreviewRow[];
  /** Columns as they were read; empty where one is skipped. */
  readonly columns: readonly string[];
  readonly says: string;
  /** What looks wrong beside what the job holds, one sentence each; `says` holds them too. */
  readonly warnings: readonly string[];
  /** Unit of bare numbers. */
  readonly unit: string;
  /** Why there are no rows; empty where there are some. */
  readonly fault: string;
}

/** How pasted rows are to be read, where a person has said so. */
export interface ReadAs {
  readonly unit?: "m" | "ft" | "ftUS" | undefined;
  readonly order?: readonly string[];
}

export interface FigureInfo {
  readonly path: string;
  readonly kind: string;
  readonly unit: string;
  readonly says: string;
  readonly stage: string;
}

/** A photo in the log, with the place where it was taken. */
export interface PhotoEntry {
  readonly kind: "photo";
  readonly id: string;
  readonly time: string;
  readonly by?: string;
  readonly note?: string;
  readonly files?: readonly string[];
  readonly place?: Point | null;
  readonly bearing?: number | null;
  readonly of?: string;
  readonly stage?: string;
  readonly repeats?: string | null;
}

/** One point of the list to walk round the site with. */
export interface WalkPoint {
  readonly id: string;
  readonly group: string;
  readonly ask: string;
  readonly why?: string;
}

/** What a wish can be tied to: a figure with the side to keep to and a first value, or a check; what it has not is empty. */
export interface WishOffer {
  readonly id: string;
  readonly says: string;
  readonly figure: string;
  readonly becomes: string;
  readonly bound: "at_least" | "at_most" | "";
  readonly value: number | null;
}
