/** The leaf that lies open beside the plan: its heading, the way back, and what is in it. */

import { html } from "lit";
import { say } from "../format/words";
import { type Leaf, closeLeaf, closeLeaves, leaves } from "../state/desk";
import type { Session } from "../state/session";
import { effect, untracked } from "../state/signal";
import { mountCheck, mountChecks } from "./checks";
import { mountDefaults } from "./defaults";
import { mountExplain } from "./explain";
import { mountHistory } from "./history";
import { mountShape } from "./shape";
import { mountShots } from "./shots";
import { mountSite } from "./site";
import { mountTray } from "./tray";
import { type Dispose, mountView } from "./view";

const NARROW = "(max-width: 800px)";

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
      if (leaf) focusHead(host);
      else if (opener instanceof HTMLElement && opener.isConnected) opener.focus();
    });
  });
  return () => {
    stop();
    dispose();
  };
}

/** The heading takes the focus; where the leaf lies below the plan, the page goes there. */
function focusHead(host: HTMLElement): void {
  host.querySelector<HTMLElement>("h2")?.focus({ preventScroll: true });
  host.scrollTop = 0;
  if (window.matchMedia(NARROW).matches) host.scrollIntoView({ block: "start" });
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
  if (leaf.kind === "shots") return say("start.title");
  return say(`${leaf.kind}.title`);
}

function mountBody(body: HTMLElement, session: Session, leaf: Leaf): Dispose {
  switch (leaf.kind) {
    case "site":
      return mountSite(body, session);
    case "shape":
      return mountShape(body, session);
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
