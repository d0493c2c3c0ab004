/** Shores that offer themselves: each with its outline, its numbers, a look on the plan, and one press to take it. */

import { html, nothing, svg } from "lit";
import type { Field } from "../api/frame";
import type { Curve, Job } from "../api/types";
import { newestOfBodies } from "../charts/fields";
import { say } from "../format/words";
import type { SitePoint } from "../geometry/types";
import { extentOf } from "../plan/places";
import { OUTER, replaceRing, ringOf, sampledRing } from "../plan/rings";
import { bendShown } from "../state/bend";
import { attempt } from "../state/changes";
import { closeLeaves } from "../state/desk";
import { narrow } from "../state/narrow";
import type { Session } from "../state/session";
import { effect, untracked } from "../state/signal";
import { bodyShown, figureLine } from "./figures";
import { type Dispose, type Template, mountView } from "./view";

const FIGURES = ["area", "area_change", "length", "development", "narrowest", "dug", "surplus_bank", "reached", "seen"] as const;
const DRAWN = FIGURES.filter((name) => name !== "area_change");
const STAGE = "shape.bends";
const WIDE = 132; // pixels of a picture
const HIGH = 96;

export interface Bend {
  readonly body: string;
  readonly variant: string;
  readonly says: string;
  /** Why it is not possible; empty when it is. */
  readonly refused: string;
  readonly curve: Curve;
}

/** Ways to bend a shore as the server sends them, each with its pegs. */
export function bendsOf(fields: readonly Field[]): Bend[] {
  return fields.map(({ head, data, shape }) => ({
    body: head.body ?? "",
    variant: head.variant ?? "",
    says: head.says?.[0] ?? "",
    refused: head.says?.[1] ?? "",
    curve: {
      pegs: Array.from({ length: shape[0] ?? 0 }, (_, at) => ({
        id: head.ids?.[at] ?? "",
        east: data[3 * at] as number,
        north: data[3 * at + 1] as number,
        ...(data[3 * at + 2] ? { corner: true } : {}),
      })),
    },
  }));
}

export function mountBends(host: HTMLElement, session: Session): Dispose {
  const read = newestOfBodies("bends");
  session.want("bends", true, "bends");
  // What was offered for another job than that of now is no longer offered.
  const stopHiding = effect(() => {
    void session.job.value;
    untracked(() => (bendShown.value = null));
  });
  const stop = mountView(host, () => {
    const job = session.shown.value;
    const frame = session.frame.value;
    return job === null ? nothing : leaf(session, job, bendsOf(read(frame)), frame?.header.stages[STAGE] === "fresh");
  });
  return () => {
    stopHiding();
    stop();
    bendShown.value = null;
    session.want("bends", false, "bends");
  };
}

function leaf(session: Session, job: Job, bends: readonly Bend[], isFresh: boolean): Template {
  const body = bodyShown(session);
  const own = bends.filter((one) => one.body === body);
  if (!isFresh) return html`<p class="quiet" role="status">${say("bends.wait")}</p>`;
  if (body === null || own.length === 0) return html`<p class="quiet">${say("bends.none")}</p>`;
  return html`<p class="quiet">${say("bends.says")}</p>
    <h3>${say("bends.now")}</h3>
    <dl class="lines">${DRAWN.map((name) => figureLine(session, `shape.bends.bodies.${body}.drawn.${name}`))}</dl>
    <ol class="bends">${own.map((one) => card(session, job, one))}</ol>`;
}

function card(session: Session, job: Job, bend: Bend): Template {
  const stem = `shape.bends.bodies.${bend.body}.variants.${bend.variant}`;
  if (bend.refused) {
    return html`<li data-variant=${bend.variant}><h3>${bend.says}</h3><p class="quiet">${say("bends.refused", { why: bend.refused })}</p></li>`;
  }
  const offered = pointsOf(bend.curve);
  const isShown = bendShown.value?.variant === bend.variant && bendShown.value.body === bend.body;
  const show = (): void => {
    bendShown.value = isShown ? null : { body: bend.body, variant: bend.variant, ring: offered };
    if (narrow.value && !isShown) host()?.scrollIntoView({ block: "start" });
  };
  const take = (): void => {
    if (attempt(session, say("bends.label", { says: bend.says }), [replaceRing({ body: bend.body, ring: OUTER }, bend.curve)]) && narrow.value) closeLeaves();
  };
  const now = ringOf(job, { body: bend.body, ring: OUTER });
  return html`<li data-variant=${bend.variant}>
    <h3>${bend.says}</h3>
    ${picture(now ? pointsOf(now.curve) : [], offered)}
    <dl class="lines">${FIGURES.map((name) => figureLine(session, `${stem}.${name}`))}</dl>
    <div class="ends">
      <button type="button" data-testid="bend-show-${bend.variant}" aria-pressed=${isShown} @click=${show}>${say(isShown ? "bends.hide" : "bends.show")}</button>
      <button type="button" class="primary" data-testid="bend-take-${bend.variant}" @click=${take}>${say("bends.take")}</button>
    </div>
  </li>`;
}

function host(): Element | null {
  return document.querySelector(".plan-map");
}

function pointsOf(curve: Curve): readonly SitePoint[] {
  return sampledRing({ curve, open: false })?.points ?? [];
}

/** The outline of now, thin, and the offered one over it. */
function picture(now: readonly SitePoint[], offered: readonly SitePoint[]): Template {
  const box = extentOf([...now, ...offered]);
  if (box === null) return nothing;
  const [west, south, east, north] = box;
  const scale = Math.min((WIDE - 8) / Math.max(east - west, 1e-6), (HIGH - 8) / Math.max(north - south, 1e-6));
  const path = (ring: readonly SitePoint[]): string =>
    `M${ring.map(([x, y]) => `${(4 + (x - west) * scale).toFixed(1)} ${(4 + (north - y) * scale).toFixed(1)}`).join("L")}Z`;
  return html`<svg class="bend" width=${WIDE} height=${HIGH} role="img" aria-label=${say("bends.picture")}>
    ${svg`<path class="now" d=${path(now)} /><path class="offered" d=${path(offered)} />`}
  </svg>`;
}
