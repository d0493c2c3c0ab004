/** Defaults in use: every number that nobody has said, with its source, and a box to overrule it. */

import { html, nothing } from "lit";
import { defaultsInUse } from "../api/rest";
import type { DefaultInUse, Job } from "../api/types";
import { shown } from "../format/shown";
import { isKind } from "../format/units";
import { say } from "../format/words";
import { attempt, bermOps, setOps } from "../state/changes";
import type { Op } from "../state/ops";
import { fieldWords } from "../state/schema";
import type { Session } from "../state/session";
import { numberBox } from "./boxes";
import { type Dispose, type Template, fetched, mountView, waitingOr } from "./view";

export function mountDefaults(host: HTMLElement, session: Session): Dispose {
  const listed = fetched(() => {
    void session.rev.value;
    return defaultsInUse(session.id);
  });
  const stop = mountView(host, () =>
    waitingOr(listed.answer.value, (defaults) =>
      defaults.length === 0
        ? html`<p>${say("defaults.none")}</p>`
        : html`<p class="quiet">${say("defaults.says")}</p>
            <ul class="defaults">
              ${defaults.map((one, at) => html`<li>${defaultLine(session, one, at)}</li>`)}
            </ul>`,
    ),
  );
  return () => {
    listed.stop();
    stop();
  };
}

function defaultLine(session: Session, one: DefaultInUse, at: number): Template {
  const job = session.job.value;
  const label = fieldWords(one.path);
  const rows = one.count > 1 ? ` · ${say("defaults.rows", { count: one.count })}` : "";
  const where = html`<p class="note">${one.says} <i>(${one.source})</i></p>`;
  if (job === null) return nothing;
  const { kind } = one;
  const ops = kind !== null && isKind(kind) ? overruling(job, one) : null;
  const text = one.value === null ? say("defaults.worked") : shown(one.value, kind ?? "ratio", session.waterLine.value);
  if (ops === null || kind === null || !isKind(kind)) {
    return html`<div class="box"><span>${label}${rows}</span>${kind === null ? nothing : html`<b>${text}</b>`}</div>${where}`;
  }
  return html`${numberBox({
    id: `default-${at}-${one.path.replaceAll(/[^a-z0-9]/g, "-")}`,
    label: `${label}${rows}`,
    kind,
    value: null,
    waterLine: session.waterLine.value,
    otherwise: text,
    set: (value) => value === null || attempt(session, say("defaults.label", { what: label }).slice(0, 200), ops(value)),
  })}${where}`;
}

/** Operations that say the number in every row that leaves it open; null where a row cannot be told apart. */
function overruling(job: Job, { path }: DefaultInUse): ((value: number) => Op[]) | null {
  const names = path.split(".");
  const stars = names.filter((name) => name === "*").length;
  if (stars > 1) return null;
  if (stars === 0) return (value) => setOps(job, names, value);
  const property = names.at(-1) as string;
  if (path.startsWith("shape.berms.*.")) {
    return (value) =>
      Object.keys(job.shape.bodies ?? {}).flatMap((body) =>
        bermHas(job, body, property) ? [] : bermOps(job, body, property as "freeboard", value),
      );
  }
  const map = names.slice(0, names.indexOf("*"));
  return (value) =>
    Object.entries(rowsAt(job, map)).flatMap(([id, row]) =>
      row[property] === undefined || row[property] === null ? setOps(job, [...map, id, property], value) : [],
    );
}

function bermHas(job: Job, body: string, property: string): boolean {
  const own = Object.values(job.shape.berms ?? {}).find((berm) => berm.body === body);
  const value = own && (own as unknown as Record<string, unknown>)[property];
  return value !== undefined && value !== null;
}

function rowsAt(job: Job, map: readonly string[]): Record<string, Record<string, unknown>> {
  let here: unknown = job;
  for (const name of map) here = (here as Record<string, unknown> | undefined)?.[name];
  return (here ?? {}) as Record<string, Record<string, unknown>>;
}
