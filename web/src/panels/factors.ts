/** How a kind of soil swells and shrinks: the number in use, whose it is, and the user's own. */

import { html, nothing } from "lit";
import type { Field } from "../api/frame";
import type { Job, SoilLayer } from "../api/types";
import { rowsOf } from "../charts/fields";
import { shown } from "../format/shown";
import { say, sayIfKnown } from "../format/words";
import { json } from "../plan/rings";
import { attempt } from "../state/changes";
import { type Op, pointer } from "../state/ops";
import type { Session } from "../state/session";
import { numberBox } from "./boxes";
import type { Template } from "./view";

export const FACTORS = ["bulking", "compaction", "bank_density"] as const;
export type FactorName = (typeof FACTORS)[number];
const KINDS = { bulking: "ratio", compaction: "ratio", bank_density: "density" } as const;
const TOPSOIL = 0.15; // metres: what is assumed where no soil is told

export interface FactorsOfKind {
  readonly kind: string;
  readonly values: Readonly<Record<FactorName, number>>;
  readonly source: string;
}

/** Factors in use, as the server sends them. */
export function factorsOf(field: Field | null): FactorsOfKind[] {
  return rowsOf(field).map((row, at) => ({
    kind: field?.head.ids?.[at] ?? "",
    values: Object.fromEntries(FACTORS.map((name, column) => [name, row[column] as number])) as Record<FactorName, number>,
    source: field?.head.says?.[at] ?? "",
  }));
}

interface LayerPlace {
  readonly soil: string;
  readonly at: number;
}

/** Every layer of a kind in the job. */
export function layersOf({ site }: Job, kind: string): LayerPlace[] {
  return Object.entries(site.soils ?? {}).flatMap(([soil, { layers }]) => layers.flatMap((layer, at) => (layer.kind === kind ? [{ soil, at }] : [])));
}

/** The user's own number of a kind: one for all layers, null for none, "mixed" where layers differ. */
export function ownFactor(job: Job, kind: string, name: FactorName): number | null | "mixed" {
  const found = new Set(layersOf(job, kind).map(({ soil, at }) => job.site.soils?.[soil]?.layers[at]?.[name] ?? null));
  if (found.size > 1) return "mixed";
  return found.values().next().value ?? null;
}

/** One edit that gives every layer of a kind a number of its own; null takes it back to what is stated. */
export function factorOps(job: Job, kind: string, name: FactorName, value: number | null): Op[] {
  const soils = new Set(layersOf(job, kind).map(({ soil }) => soil));
  return [...soils].map((soil): Op => {
    const layers = (job.site.soils?.[soil]?.layers ?? []).map((layer) => (layer.kind === kind ? withFactor(layer, name, value) : layer));
    return { op: "replace", path: pointer("site", "soils", soil, "layers"), value: json(layers) };
  });
}

function withFactor(layer: SoilLayer, name: FactorName, value: number | null): SoilLayer {
  const { [name]: _before, ...rest } = layer;
  return value === null ? rest : { ...rest, [name]: value };
}

function setFactor(session: Session, job: Job, kind: string, name: FactorName, value: number | null): boolean {
  return attempt(session, say("soilwork.setFactor", { kind: sayIfKnown(`soil.${kind}`, kind) }), factorOps(job, kind, name, value));
}

export function factorsPart(session: Session, job: Job, factors: readonly FactorsOfKind[]): Template {
  const told = Object.keys(job.site.soils ?? {}).length > 0;
  return html`${told ? nothing : assumed(session)} ${factors.map((one) => entry(session, job, one))}`;
}

function assumed(session: Session): Template {
  const value = { place: { at: "whole" }, layers: [{ kind: "topsoil", thickness: TOPSOIL }, { kind: "silt" }] };
  const words = say("soilwork.tellSoil", { topsoil: shown(TOPSOIL, "length") });
  const tell = (): void => void attempt(session, words, [{ op: "add", path: pointer("site", "soils", "ground"), value }]);
  return html`<p class="quiet">${say("soilwork.noLayer")}</p>
    <button type="button" data-testid="tell-soil" @click=${tell}>${words}</button>`;
}

function entry(session: Session, job: Job, { kind, values, source }: FactorsOfKind): Template {
  const name = sayIfKnown(`soil.${kind}`, kind);
  const hasLayers = layersOf(job, kind).length > 0;
  const line = (factor: FactorName): Template => {
    const inUse = say("soilwork.inUse", { value: shown(values[factor], KINDS[factor]) });
    const own = ownFactor(job, kind, factor);
    if (!hasLayers) return html`<div class="line"><dt>${say(`soilwork.${factor}`)}</dt><dd>${shown(values[factor], KINDS[factor])}</dd></div>`;
    return numberBox({
      id: `factor-${kind}-${factor}`,
      label: say(`soilwork.${factor}`),
      kind: KINDS[factor],
      value: own === "mixed" ? null : own,
      otherwise: own === "mixed" ? say("soilwork.differs") : inUse,
      note: own === null || own === "mixed" ? "" : say("soilwork.own"),
      set: (value) => setFactor(session, job, kind, factor, value),
    });
  };
  return html`<details class="fold entry" data-testid="factors-${kind}">
    <summary>${say("soilwork.factors", { kind: name })} <span class="quiet">${shown(values.bulking, "ratio")} / ${shown(values.compaction, "ratio")}</span></summary>
    <div class="row">${line("bulking")} ${line("compaction")}</div>
    ${line("bank_density")}
    <p class="quiet">${say("soilwork.source", { source: source || say("soilwork.own") })}</p>
  </details>`;
}
