/** The room of the stone: what covers the bank, what it comes to, each stone with its place, and what sets it. */

import { html, nothing } from "lit";
import { defaultsInUse } from "../api/rest";
import { say } from "../format/words";
import type { Session } from "../state/session";
import { coverShown, stonesShown } from "../state/stone-shown";
import { tickBox } from "./boxes";
import { classesPart, treatmentsPart } from "./stone-cover";
import type { Stoned } from "./stone-parts";
import { piecesPart } from "./stone-pieces";
import { liftersPart, stoneFallsPart, stonePilesPart } from "./stone-rows";
import { comesPart } from "./stone-told";
import { type Dispose, type Template, fetched, mountView } from "./view";
import { checksOf } from "./water-parts";

const ARRAYS = ["stone_classes", "stone_yard", "stone_setting"] as const;

export function mountStone(host: HTMLElement, session: Session): Dispose {
  const defaults = fetched(() => {
    void session.rev.value;
    return defaultsInUse(session.id);
  });
  for (const name of ARRAYS) session.want(name, true, "stone");
  const stop = mountView(host, () => {
    const job = session.shown.value;
    return job === null ? nothing : room({ session, job, figures: session.figures.value, defaults: defaults.answer.value.value ?? [] });
  });
  return () => {
    for (const name of ARRAYS) session.want(name, false, "stone");
    defaults.stop();
    stop();
  };
}

function room(stone: Stoned): Template {
  return html`<p class="quiet">${say("stone.lead")}</p>
    ${comesPart(stone)} ${onPlanPart()} ${treatmentsPart(stone)} ${classesPart(stone)} ${piecesPart(stone)} ${stonePilesPart(stone)} ${stoneFallsPart(stone)} ${liftersPart(stone)} ${cautionsPart(stone)}`;
}

/** What of it the plan shows. */
function onPlanPart(): Template {
  return html`${tickBox({ id: "show-cover", label: say("stone.showCover"), value: coverShown.value, set: (on) => (coverShown.value = on) })}
  ${tickBox({ id: "show-stones", label: say("stone.showStones"), value: stonesShown.value, set: (on) => (stonesShown.value = on) })}`;
}

function cautionsPart({ session }: Stoned): Template {
  const found = checksOf(session, ({ code, grade }) => code.startsWith("stone.") && grade !== "good");
  return html`<h3>${say("stone.cautions")}</h3>
    ${found === nothing ? html`<p class="quiet">${say("stone.noCaution")}</p>` : found}`;
}
