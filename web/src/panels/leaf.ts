/** The leaf that lies open beside the plan: its heading, the way back, and what is in it. */

import { html } from "lit";
import { say } from "../format/words";
import { type Leaf, closeLeaf, closeLeaves, leaves } from "../state/desk";
import { narrow } from "../state/narrow";
import type { Session } from "../state/session";
import { effect, untracked } from "../state/signal";
import { tool } from "../state/tool";
import { mountCheck, mountChecks } from "./checks";
import { mountBends } from "./bends";
import { mountDefaults } from "./defaults";
import { mountEarth } from "./earth";
import { mountExplain } from "./explain";
import { mountGroundwater } from "./groundwater";
import { mountHistory } from "./history";
import { mountLiner } from "./liner";
import { mountStone } from "./stone";
import { mountYard } from "./yard";
import { mountPhoto } from "./photos";
import { freshRow } from "./rows";
import { mountShape } from "./shape";
import { mountShots } from "./shots";
import { mountSite } from "./site";
import { siteSection } from "./site-sections";
import { mountTray } from "./tray";
import { type Dispose, mountView } from "./view";

/** Leaves that take the whole of a narrow page, and give it back to the plan while the hand has a tool. */
const WHOLE: ReadonlySet<Leaf["kind"]> = new Set(["site", "site-page", "photo", "earth", "groundwater", "liner", "stone", "yard"]);
/** Leaves of rooms that may be opened at one of their rows. */
const WITH_ROWS: ReadonlySet<Leaf["kind"]> = new Set(["site-page", "earth", "groundwater", "liner", "stone"]);

export function mountLeaf(host: HTMLElement, session: Session): Dispose {
  let dispose: Dispose = () => {};
  let opener: Element | null = null;
  const stop = effect(() => {
    const leaf = leaves.value.at(-1) ?? null;
    untracked(() => {
      // What was pressed last outside the leaf gets the focus back, also when one leaf follows another.
      if (leaf && document.activeElement !== document.body && !host.contains(document.activeElement)) opener = document.activeElement;
      dispose();
      dispose = leaf ? shownLeaf(host, session, leaf) : () => {};
      host.hidden = leaf === null;
      fill(host);
      if (leaf) focusHead(host);
      else if (opener instanceof HTMLElement && opener.isConnected) opener.focus();
    });
  });
  const stopFilling = followTool(host);
  return () => {
    stop();
    stopFilling();
    dispose();
  };
}

/** Give a leaf the whole of a narrow page, or leave it beside the plan. */
function fill(host: HTMLElement): void {
  const leaf = leaves.value.at(-1);
  const isWhole = leaf !== undefined && WHOLE.has(leaf.kind) && tool.value === "select";
  host.closest<HTMLElement>(".job")?.setAttribute("data-leaf", isWhole ? "whole" : "beside");
}

/** While the hand has a tool the plan is seen; afterwards the leaf comes back where it was left. */
function followTool(host: HTMLElement): Dispose {
  let left = { leaf: leaves.value.at(-1), at: 0 };
  let hadTool = false;
  return effect(() => {
    const hasTool = tool.value !== "select";
    untracked(() => {
      if (hasTool && !hadTool) left = { leaf: leaves.value.at(-1), at: window.scrollY };
      fill(host);
      if (!hasTool && hadTool && narrow.value && left.leaf !== undefined && left.leaf === leaves.value.at(-1)) window.scrollTo(0, left.at);
      hadTool = hasTool;
    });
  });
}

/** The heading takes the focus; where the leaf lies below the plan, the page goes there. */
function focusHead(host: HTMLElement): void {
  host.querySelector<HTMLElement>("h2")?.focus({ preventScroll: true });
  host.scrollTop = 0;
  if (narrow.value) host.scrollIntoView({ block: "start" });
  const leaf = leaves.value.at(-1);
  if (leaf && WITH_ROWS.has(leaf.kind) && "row" in leaf && leaf.row) host.querySelector("details[open]")?.scrollIntoView({ block: "nearest" });
}

function shownLeaf(host: HTMLElement, session: Session, leaf: Leaf): Dispose {
  const head = document.createElement("header");
  const body = document.createElement("div");
  body.className = "leaf-body";
  host.replaceChildren(head, body);
  const stopHead = mountView(
    head,
    () => html`<h2 tabindex="-1">${titleOf(leaf)}</h2>
      ${leaves.value.length > 1 ? html`<button type="button" @click=${closeLeaf}>${say("app.back")}</button>` : ""}
      <button type="button" data-testid="leaf-close" @click=${closeLeaves}>${say("app.close")}</button>`,
  );
  const stopBody = mountBody(body, session, leaf);
  return () => {
    stopHead();
    stopBody();
    host.replaceChildren();
  };
}

function titleOf(leaf: Leaf): string {
  if (leaf.kind === "check" || leaf.kind === "checks") return say("checks.title");
  if (leaf.kind === "figure") return say("explain.title");
  if (leaf.kind === "site-page") return say(siteSection(leaf.name)?.title ?? "site.title");
  if (leaf.kind === "photo") return say("photos.photo");
  if (leaf.kind === "shots") return say("start.title");
  return say(`${leaf.kind}.title`);
}

function mountBody(body: HTMLElement, session: Session, leaf: Leaf): Dispose {
  switch (leaf.kind) {
    case "site":
      return mountSite(body, session);
    case "site-page":
      if (leaf.row) freshRow.value = leaf.row;
      return siteSection(leaf.name)?.mount?.(body, session) ?? (() => {});
    case "photo":
      return mountPhoto(body, session, leaf.id);
    case "shape":
      return mountShape(body, session);
    case "earth":
      if (leaf.row) freshRow.value = leaf.row;
      return mountEarth(body, session);
    case "groundwater":
      if (leaf.row) freshRow.value = leaf.row;
      return mountGroundwater(body, session);
    case "liner":
      if (leaf.row) freshRow.value = leaf.row;
      return mountLiner(body, session);
    case "stone":
      if (leaf.row) freshRow.value = leaf.row;
      return mountStone(body, session);
    case "yard":
      return mountYard(body, session);
    case "bends":
      return mountBends(body, session);
    case "checks":
      return mountChecks(body, session);
    case "check":
      return mountCheck(body, session, leaf.key);
    case "figure":
      return mountExplain(body, session, leaf.path);
    case "defaults":
      return mountDefaults(body, session);
    case "history":
      return mountHistory(body, session);
    case "shots":
      return mountShots(body, session);
    case "tray":
      return mountTray(body, session);
  }
}
