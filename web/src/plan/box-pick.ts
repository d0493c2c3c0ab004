/** The box of a place that somebody asked for: press it, or type it; then it goes back to where it was asked. */

import { html, nothing } from "lit";
import { numberBox } from "../panels/boxes";
import type { Template } from "../panels/view";
import { type Picked, pick } from "../state/pick";
import { tool } from "../state/tool";
import type { Boxed } from "./box";
import { say } from "./say";

export function pickBox({ hand }: Boxed): Template {
  const wanted = pick.value;
  if (wanted === null) return nothing;
  const drawn = hand.draft.value?.stand;
  const before = wanted.before;
  // A press without a drag keeps the direction that there was.
  const place = drawn?.place ?? before?.place ?? null;
  const bearing = drawn?.bearing ?? before?.bearing ?? null;
  const type = (part: Partial<{ east: number; north: number; bearing: number | null }>): boolean => {
    const [east, north] = place ?? [0, 0];
    const next: Picked = { place: [part.east ?? east, part.north ?? north], bearing: part.bearing === undefined ? bearing : part.bearing };
    hand.draft.value = { stand: next };
    return true;
  };
  const take = (): void => {
    if (place === null) return void (hand.says.value = say("plan.box.missing"));
    wanted.take({ place, bearing });
    hand.letGo();
    tool.value = "select";
  };
  return html`<form class="plan-box" data-testid="plan-box" aria-label=${wanted.title} @submit=${(event: Event) => event.preventDefault()}>
    <h3>${wanted.title}</h3>
    ${numberBox({ id: "pick-east", label: say("plan.box.east"), kind: "length", value: place?.[0] ?? null, set: (east) => east !== null && type({ east }) })}
    ${numberBox({ id: "pick-north", label: say("plan.box.north"), kind: "length", value: place?.[1] ?? null, set: (north) => north !== null && type({ north }) })}
    ${wanted.looks ? numberBox({ id: "pick-bearing", label: say("plan.pick.bearing"), kind: "angle", value: bearing, set: (angle) => type({ bearing: angle }) }) : nothing}
    <div class="buttons">
      <button type="button" class="primary" data-testid="pick-take" ?disabled=${place === null} @click=${take}>${say("plan.pick.use")}</button>
      <button type="button" data-testid="pick-stop" @click=${() => ((tool.value = "select"))}>${say("plan.box.stop")}</button>
    </div>
  </form>`;
}
