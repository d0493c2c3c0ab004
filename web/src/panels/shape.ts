/** Shape in hand: the bodies of water, their level, their banks, the berm, the slopes, and under them the soil. */

import { html, nothing } from "lit";
import type { Field } from "../api/frame";
import { defaultsInUse } from "../api/rest";
import type { BankType, Berm, Body, DefaultInUse, Job } from "../api/types";
import { newestOfBodies } from "../charts/fields";
import { type Said, saidOf, tableOfBody } from "../charts/level-rows";
import { shown } from "../format/shown";
import type { Kind } from "../format/units";
import { type Word, say } from "../format/words";
import { OUTER, attempt, bermOps, setOps } from "../state/changes";
import { bodyInHand, openNext } from "../state/desk";
import { type Json, type Op, pointer } from "../state/ops";
import { jobAddress } from "../state/route";
import type { Session } from "../state/session";
import { tool } from "../state/tool";
import { bankTypesPart, stretchesPart } from "./banks";
import { choiceBox, numberBox, textBox } from "./boxes";
import { builtPart, fallsPart, floorPart, reachLines } from "./built";
import { earthPart } from "./earth";
import { bodyShown, figureLine } from "./figures";
import { stated } from "./stated";
import { type Dispose, type Template, fetched, mountView } from "./view";

const ROLES = ["pond", "upper_pool", "wetland", "intake_pool", "stream"] as const;
const WATER = [
  "shape.storage.bodies.*.volume",
  "shape.shore.bodies.*.area",
  "shape.shore.bodies.*.length",
  "shape.storage.bodies.*.mean_depth",
  "shape.storage.bodies.*.greatest_depth",
  "shape.storage.bodies.*.littoral_share",
  "shape.storage.bodies.*.lip",
  "shape.storage.bodies.*.freeboard_left",
  "shape.grading.bodies.*.wetted_area",
  "shape.grading.bodies.*.bank_height",
  "shape.shore.bodies.*.crest_level",
  "shape.shore.bodies.*.development",
  "shape.shore.bodies.*.fetch",
];

export function mountShape(host: HTMLElement, session: Session): Dispose {
  const defaults = fetched(() => {
    void session.rev.value;
    return defaultsInUse(session.id);
  });
  const readLevels = newestOfBodies("levels");
  session.want("levels", true, "shape");
  const stop = mountView(host, () => {
    const job = session.shown.value;
    const levels = readLevels(session.frame.value);
    return job === null ? nothing : shapeLeaf(session, job, defaults.answer.value.value ?? [], levels);
  });
  return () => {
    session.want("levels", false, "shape");
    defaults.stop();
    stop();
  };
}

function shapeLeaf(session: Session, job: Job, defaults: readonly DefaultInUse[], levels: readonly Field[]): Template {
  const bodies = Object.entries(job.shape.bodies ?? {});
  const id = bodyShown(session);
  const body = id === null ? undefined : job.shape.bodies?.[id];
  const draw = html`<button type="button" class="primary" @click=${() => (tool.value = "shoreline")}>${say("shape.draw")}</button>
    <button type="button" data-testid="add-stream" @click=${() => (tool.value = "stream")}>${say("shape.addStream")}</button>`;
  if (id === null || body === undefined) return html`<p>${say("shape.noBody")}</p>${draw}`;
  return html`${bodies.length > 1
      ? choiceBox({
          id: "body-in-hand",
          label: say("shape.body"),
          value: id,
          of: bodies.map(([key, one]) => [key, one.name || key] as const),
          set: (key) => (bodyInHand.value = key),
        })
      : nothing}
    ${bodyPart(session, job, id, body, saidOf(tableOfBody(levels, id)))} ${bankPart(session, job, id, body)} ${bermPart(session, job, id, defaults)} ${slopesPart(session, job, defaults)}
    ${builtPart(session, job)} ${earthPart(session)} ${removing(session, job, id, body)}
    <p>${draw}</p>`;
}

function bodyPart(session: Session, job: Job, id: string, body: Body, said: Said): Template {
  const at = (property: string): string[] => ["shape", "bodies", id, property];
  const set = (word: Word, property: string) => (value: Json): boolean => attempt(session, say(word), setOps(job, at(property), value));
  const waterLine = session.waterLine.value;
  const computed = session.figures.value[`shape.shore.bodies.${id}.level`];
  const balanced = session.figures.value[`earth.levels.bodies.${id}.balanced_level`];
  const offered = session.figures.value[`earth.levels.bodies.${id}.offered_level`];
  return html`${textBox({ id: `body-${id}-name`, label: say("shape.name"), value: body.name ?? "", otherwise: id, set: set("shape.name", "name") })}
    ${choiceBox({
      id: `body-${id}-role`,
      label: say("shape.role"),
      value: (body.role ?? "pond") as (typeof ROLES)[number],
      of: ROLES.map((role) => [role, say(`role.${role}`)] as const),
      set: set("shape.role", "role"),
    })}
    ${numberBox({
      id: `body-${id}-level`,
      label: say("shape.level"),
      kind: "elevation",
      value: body.level ?? null,
      waterLine,
      otherwise: computed === undefined ? say("defaults.worked") : say("box.worked", { value: shown(computed, "elevation", waterLine) }),
      note: say("shape.levelHint"),
      set: set("shape.level", "level"),
    })}
    <label class="tick"
      ><input type="checkbox" .checked=${body.keep_balanced ?? false} @change=${(event: Event) => set("shape.balance", "keep_balanced")((event.target as HTMLInputElement).checked)} />
      ${say("shape.balance")}</label
    >
    ${balanced === undefined || balanced === null
      ? nothing
      : html`<p>
          ${say("shape.balanced", { level: shown(balanced, "elevation", waterLine) })}
          ${typeof offered === "number" ? html`<button type="button" @click=${() => set("shape.level", "level")(offered)}>${say("shape.useBalanced")}</button>` : nothing}
          ${said.refused ? say("shape.balancedNot", { why: said.refused }) : said.warned ? say("shape.balancedBut", { why: said.warned }) : nothing}
        </p>`}
    ${numberBox({
      id: `body-${id}-low-level`,
      label: say("shape.lowLevel"),
      kind: "elevation",
      value: body.low_level ?? null,
      waterLine,
      otherwise: say("shape.level"),
      set: set("shape.lowLevel", "low_level"),
    })}
    ${numberBox({ id: `body-${id}-rank`, label: say("shape.rank"), kind: "count", value: body.rank ?? 0, needed: true, set: set("shape.rank", "rank") })}
    ${floorPart(session, job, id, body)} ${fallsPart(session, job, id)}
    <h3>${say("shape.numbers")}</h3>
    <dl class="lines">${WATER.map((path) => figureLine(session, path.replace("*", id)))} ${reachLines(session, id)}</dl>
    <p><a class="button" href=${jobAddress(session.id, "tables")}>${say("shape.pegs")}</a>
      <button type="button" data-testid="open-bends" @click=${() => openNext({ kind: "bends" })}>${say("bends.title")}</button></p>`;
}

function bankPart(session: Session, job: Job, id: string, body: Body): Template {
  const types = Object.entries(job.shape.bank_types ?? {});
  return html`<h3>${say("shape.bank")}</h3>
    ${choiceBox({
      id: `body-${id}-bank`,
      label: say("shape.bankType"),
      value: body.bank_type ?? "",
      of: [["", say("shape.standard")], ...types.map(([key, one]: readonly [string, BankType]) => [key, one.name || key] as const)],
      set: (key) => attempt(session, say("shape.bankType"), setOps(job, ["shape", "bodies", id, "bank_type"], key || null)),
    })}
    ${stretchesPart(session, job, id, body)} ${bankTypesPart(session, job)}`;
}

const BERM: readonly (readonly [keyof Berm & string, Word, Kind])[] = [
  ["crest_width", "shape.crestWidth", "length"],
  ["freeboard", "shape.freeboard", "length"],
  ["settlement", "shape.settlement", "ratio"],
  ["slope_in", "shape.slopeIn", "slope"],
  ["slope_out", "shape.slopeOut", "slope"],
];

function bermPart(session: Session, job: Job, id: string, defaults: readonly DefaultInUse[]): Template {
  const berm = Object.values(job.shape.berms ?? {}).find((one) => one.body === id) as unknown as Record<string, number | null> | undefined;
  return html`<h3>${say("shape.berm")}</h3>
    ${BERM.map(([property, word, kind]) =>
      numberBox({
        id: `berm-${id}-${property}`,
        label: say(word),
        kind,
        value: berm?.[property] ?? null,
        otherwise: stated(defaults, `shape.berms.*.${property}`, kind),
        set: (value) => attempt(session, say(word), bermOps(job, id, property, value)),
      }),
    )}`;
}

function slopesPart(session: Session, job: Job, defaults: readonly DefaultInUse[]): Template {
  return html`<h3>${say("shape.slopes")}</h3>
    ${(["cut", "fill"] as const).map((side) =>
      numberBox({
        id: `slopes-${side}`,
        label: say(side === "cut" ? "shape.slopeCut" : "shape.slopeFill"),
        kind: "slope",
        value: job.shape.slopes?.[side] ?? null,
        otherwise: stated(defaults, `shape.slopes.${side}`, "slope"),
        set: (value) => attempt(session, say("shape.slopes"), setOps(job, ["shape", "slopes", side], value)),
      }),
    )}`;
}

function removing(session: Session, job: Job, id: string, body: Body): Template {
  const bermIds = Object.entries(job.shape.berms ?? {}).filter(([, berm]) => berm.body === id);
  const name = body.name || id;
  const removeBody: Op[] = [...bermIds.map(([key]): Op => ({ op: "remove", path: pointer("shape", "berms", key) })), { op: "remove", path: pointer("shape", "bodies", id) }];
  return html`<h3>${say("shape.islands")}</h3>
    <ul>
      ${Object.keys(body.islands ?? {}).map(
        (island) => html`<li>
          ${island}
          <button type="button" aria-label=${say("shape.removeIsland", { name: island })} @click=${() => attempt(session, say("shape.removeIsland", { name: island }), islandRemoval(id, body, island))}>
            ${say("app.remove")}
          </button>
        </li>`,
      )}
    </ul>
    <p>
      <button type="button" @click=${() => (tool.value = "island")}>${say("tool.island")}</button>
      <button type="button" @click=${() => attempt(session, say("shape.removeBody", { name }), removeBody)}>${say("shape.removeBody", { name })}</button>
    </p>`;
}

/** Remove an island with the stretches that lie on it. */
function islandRemoval(id: string, body: Body, island: string): Op[] {
  const own = Object.entries(body.stretches ?? {}).filter(([, stretch]) => (stretch.ring ?? OUTER) === island);
  return [
    ...own.map(([key]): Op => ({ op: "remove", path: pointer("shape", "bodies", id, "stretches", key) })),
    { op: "remove", path: pointer("shape", "bodies", id, "islands", island) },
  ];
}

