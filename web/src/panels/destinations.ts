/** Where the soil goes: each place with what comes to it. The rows are pure, the table draws them. */

import { html, nothing } from "lit";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { NOWHERE, PLACED } from "../plan/hauls";
import type { Session } from "../state/session";
import { figureButton } from "./figures";
import type { Template } from "./view";

type Figures = Readonly<Record<string, number>>;

export interface Destination {
  readonly kind: "placed" | "pile" | "gate" | "nowhere" | "short";
  readonly id: string;
  readonly name: string;
  /** Volume in the bank [m³]; loose and loads where they are known. */
  readonly bank: number;
  readonly loose: number | null;
  readonly loads: number | null;
  /** Carrying time [s]. */
  readonly time: number | null;
}

/** Rows of the table: placed soil, piles, gates, and what has no place. None while nothing is worked out. */
export function destinations({ earth = {} }: Job, figures: Figures, times: ReadonlyMap<string, number>): Destination[] {
  const toBanks = figures["earth.haul.to_banks"];
  if (toBanks === undefined) return [];
  const place = (kind: "pile" | "gate", id: string, name: string): Destination => {
    const stem = `earth.haul.${kind}s.${id}`;
    const bank = (["topsoil", "muck", "soil"] as const).reduce((sum, stream) => sum + (figures[`${stem}.${stream}`] ?? 0), 0);
    const end = kind === "pile" ? `pile ${id}` : `off site ${id}`;
    return { kind, id, name, bank, loose: figures[`${stem}.loose`] ?? null, loads: kind === "gate" ? (figures[`${stem}.loads`] ?? null) : null, time: times.get(end) ?? null };
  };
  const homeless = figures["earth.haul.homeless"] ?? 0;
  const short = figures["earth.haul.short"] ?? 0;
  return [
    { kind: "placed", id: PLACED, name: "", bank: toBanks, loose: null, loads: null, time: times.get(PLACED) ?? null },
    ...Object.entries(earth.piles ?? {}).map(([id, { name }]) => place("pile", id, name || id)),
    ...Object.entries(earth.off_site ?? {}).map(([id, { name, way }]) => place("gate", id, way === "import" ? say("soilwork.from", { place: name || id }) : name || id)),
    ...(homeless > 0 ? [{ kind: "nowhere" as const, id: NOWHERE, name: "", bank: homeless, loose: null, loads: null, time: null }] : []),
    ...(short > 0 ? [{ kind: "short" as const, id: NOWHERE, name: "", bank: short, loose: null, loads: null, time: null }] : []),
  ];
}

export function destinationsPart(session: Session, job: Job, times: ReadonlyMap<string, number>): Template {
  const rows = destinations(job, session.figures.value, times);
  const homeless = session.figures.value["earth.haul.homeless"];
  if (rows.length === 0 || homeless === undefined) return html`<p class="quiet">${say("soilwork.haulsWait")}</p>`;
  const short = session.figures.value["earth.haul.short"] ?? 0;
  const nameOf = ({ kind, name }: Destination): string => (kind === "placed" ? say("soilwork.toBanks") : kind === "nowhere" ? say("soilwork.homeless") : kind === "short" ? say("soilwork.short") : name);
  const bankOf = (row: Destination): Template => {
    if (row.kind !== "nowhere" && row.kind !== "short") return html`${shown(row.bank, "soil volume")}`;
    return figureButton(session, row.kind === "short" ? "earth.haul.short" : "earth.haul.homeless", nameOf(row), "soil volume", row.bank);
  };
  return html`<p class=${homeless > 0 ? "fault" : "quiet"} data-testid="homeless">
      ${homeless > 0 ? say("soilwork.homelessSays", { volume: shown(homeless, "soil volume") }) : say("soilwork.allHoused")}
    </p>
    ${short > 0 ? html`<p class="fault" data-testid="short">${say("soilwork.shortSays", { volume: shown(short, "soil volume") })}</p>` : nothing}
    <div class="wide" tabindex="0" role="group" aria-label=${say("soilwork.goes")}>
      <table class="plain soil-account" data-testid="destinations">
        <thead>
          <tr>${(["place", "bank", "loose", "loads", "hours"] as const).map((name) => html`<th scope="col">${say(`soilwork.${name}`)}</th>`)}</tr>
        </thead>
        <tbody>
          ${rows.map(
            (row) => html`<tr data-place="${row.kind} ${row.id}">
              <th scope="row">${nameOf(row)}</th>
              <td>${bankOf(row)}</td>
              <td>${shown(row.loose, "soil volume")}</td>
              <td>${shown(row.loads, "count")}</td>
              <td>${shown(row.time, "time")}</td>
            </tr>`,
          )}
        </tbody>
      </table>
    </div>`;
}
