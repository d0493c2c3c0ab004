/** The boxes of what belongs to the liner: pipes through it, patches, guards, lengths taped in the hole. */

import { html, nothing } from "lit";
import type { Guard, GuardKind, Over, Patch, Penetration, TapeCheck } from "../api/lining";
import type { Job } from "../api/types";
import { shown } from "../format/shown";
import { say } from "../format/words";
import { choiceBox, numberBox, textBox } from "../panels/boxes";
import type { Template } from "../panels/view";
import { attempt, newId, setOps } from "../state/changes";
import { openLeaf } from "../state/desk";
import type { Json, Op } from "../state/ops";
import { type Signal, signal } from "../state/signal";
import { tool } from "../state/tool";
import type { Boxed } from "./box";
import { type Built, builtPath, nameOf } from "./built";
import { guardInHand } from "./gestures/draw-lining";
import { json } from "./rings";

export const GUARDS: readonly GuardKind[] = ["root", "burrow"];
export const OVERS: readonly Over[] = ["not_asked", "no", "could"];
/** Side of a patch that tells none [m]. */
export const FIRST_PATCH = 0.3;

export const guardKinds = (): readonly (readonly [GuardKind, string])[] => GUARDS.map((kind) => [kind, say(`liner.guard.${kind}`)] as const);
export const overWords = (): readonly (readonly [Over, string])[] => OVERS.map((over) => [over, say(`liner.over.${over}`)] as const);

/** What was typed for a pipe or a patch that is not in the job yet. */
interface Form {
  readonly name: string;
  readonly east: number | null;
  readonly north: number | null;
  readonly size: number | null;
  readonly over: Over;
}

const EMPTY: Form = { name: "", east: null, north: null, size: null, over: "not_asked" };
const form: Signal<Form> = signal(EMPTY);
const unfolded: Signal<boolean> = signal(false);

/** Boxes of a chosen row of the lining, without its place. */
export function chosenLinerBoxes(boxed: Boxed, built: Built): Template {
  const change = changer(boxed, built);
  const row = built.row as unknown;
  const more = (): void => openLeaf({ kind: "liner", row: builtPath(built.kind, built.id).slice(1).replaceAll("/", ".") });
  return html`${textBox({ id: "lined-name", label: say("plan.box.name"), value: built.row.name ?? "", otherwise: built.id, set: (value) => change("name", value) })}
    ${built.kind === "penetration"
      ? pipeBoxes(row as Penetration, change)
      : built.kind === "patch"
        ? numberBox({ id: "patch-size", label: say("liner.patchSize"), kind: "length", value: (row as Patch).size ?? null, otherwise: shown(FIRST_PATCH, "length"), set: (value) => change("size", value) })
        : built.kind === "guard"
          ? guardBoxes(row as Guard, change)
          : numberBox({ id: "tape-taped", label: say("liner.taped"), kind: "length", value: (row as TapeCheck).taped ?? null, set: (value) => change("taped", value) })}
    <button type="button" data-testid="lined-more" @click=${more}>${say("plan.box.more")}</button>`;
}

type Change = (field: string, value: Json) => boolean;

function changer({ session }: Boxed, built: Built): Change {
  const keys = builtPath(built.kind, built.id).slice(1).split("/");
  return (field, value) => {
    const job = session.job.value;
    return job !== null && attempt(session, say("plan.label.changeThing", { name: nameOf(built) }), setOps(job, [...keys, field], value));
  };
}

function pipeBoxes(row: Penetration, change: Change): Template {
  return html`${numberBox({ id: "pipe-diameter", label: say("liner.pipeDiameter"), kind: "length", value: row.diameter, needed: true, set: (value) => change("diameter", value) })}
    ${choiceBox<Over>({ id: "pipe-over", label: say("liner.over"), value: row.over ?? "not_asked", of: overWords(), set: (over) => void change("over", over) })}`;
}

function guardBoxes(row: Guard, change: Change): Template {
  return html`${choiceBox({ id: "guard-kind", label: say("liner.guardAgainst"), value: row.kind, of: guardKinds(), set: (kind) => void change("kind", kind) })}
    ${numberBox({ id: "guard-depth", label: say("liner.guardDepth"), kind: "length", value: row.depth, needed: true, set: (value) => change("depth", value) })}`;
}

/** What the next guard is, above the place of it. */
export function guardChoice(): Template {
  if (tool.value !== "guard") return nothing;
  const { kind, depth } = guardInHand.value;
  const setDepth = (next: number | null): boolean => {
    if (next === null || next <= 0) return false;
    guardInHand.value = { ...guardInHand.value, depth: next };
    return true;
  };
  return html`${choiceBox({ id: "new-guard", label: say("liner.guardAgainst"), value: kind, of: guardKinds(), set: (next) => (guardInHand.value = { ...guardInHand.value, kind: next }) })}
    ${numberBox({ id: "new-guard-depth", label: say("liner.guardDepth"), kind: "length", value: depth, needed: true, set: setDepth })}`;
}

/** A pipe through the liner or a patch is put by a press; the box asks its size, and keeps it. */
export function newLinedBox({ session, hand }: Boxed, job: Job, kind: "penetration" | "patch"): Template {
  const set = <K extends keyof Form>(key: K) => (value: Form[K]): boolean => {
    form.value = { ...form.value, [key]: value };
    return true;
  };
  const typed = form.value;
  const point = hand.draft.value?.point;
  const [east, north] = [typed.east ?? point?.[0] ?? null, typed.north ?? point?.[1] ?? null];
  const keep = (): void => {
    const { name, size, over } = form.value;
    if (east === null || north === null) return void (hand.says.value = say("plan.box.missing"));
    if (kind === "penetration" && size === null) return void (hand.says.value = say("liner.pipeNeeds"));
    const own = kind === "penetration" ? { diameter: size, over } : size === null ? {} : { size };
    const id = newId(kind, (job.lining?.[kind === "patch" ? "patches" : "penetrations"] ?? {}) as Readonly<Record<string, unknown>>);
    const op: Op = { op: "add", path: builtPath(kind, id), value: json({ place: { at: "point", east, north }, ...(name ? { name } : {}), ...own }) };
    if (!attempt(session, say("plan.label.thing", { name: name || say(`liner.${kind}`) }), [op])) return;
    form.value = EMPTY;
    tool.value = "select";
    session.selection.value = { kind, id };
  };
  // On a small screen it lies folded until the place is pressed, so that the plan is free for it.
  const isOpen = unfolded.value || point !== undefined;
  return html`<form class="plan-box low" data-unfolded=${isOpen} data-testid="plan-box" aria-label=${say(`plan.tool.${kind}`)} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${say(`plan.tool.${kind}`)}</h3>
    <button type="button" class="unfold" data-testid="box-unfold" aria-expanded=${isOpen} @click=${() => (unfolded.value = !unfolded.value)}>${say("plan.box.typeIt")}</button>
    ${textBox({ id: "new-name", label: say("plan.box.name"), value: typed.name, set: set("name") })}
    ${numberBox({ id: "new-east", label: say("plan.box.east"), kind: "length", value: east, set: set("east") })}
    ${numberBox({ id: "new-north", label: say("plan.box.north"), kind: "length", value: north, set: set("north") })}
    ${kind === "penetration"
      ? html`${numberBox({ id: "new-diameter", label: say("liner.pipeDiameter"), kind: "length", value: typed.size, set: set("size") })}
          ${choiceBox<Over>({ id: "new-over", label: say("liner.over"), value: typed.over, of: overWords(), set: (over) => void set("over")(over) })}`
      : numberBox({ id: "new-size", label: say("liner.patchSize"), kind: "length", value: typed.size, otherwise: shown(FIRST_PATCH, "length"), set: set("size") })}
    <div class="buttons">
      <button type="button" class="primary" data-testid="keep-${kind}" @click=${keep}>${say("plan.box.keep")}</button>
      <button type="button" @click=${() => (tool.value = "select")}>${say("plan.box.stop")}</button>
    </div>
  </form>`;
}
