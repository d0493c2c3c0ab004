/** Brings the browser's pointer and keys to the hand. */

import type MapBrowserEvent from "ol/MapBrowserEvent";
import Interaction from "ol/interaction/Interaction";
import type { SitePoint } from "../geometry/types";
import type { Hand } from "./hand";
import type { Touch } from "./gestures/gesture";
import type { PointerEventKind } from "./gestures/pointer";
import { pointed } from "./mark";

const KINDS: Readonly<Record<string, PointerEventKind>> = {
  pointerdown: "down",
  pointerdrag: "drag",
  pointerup: "up",
  pointermove: "move",
};

/** Last of the map's interactions, hence the first to see an event: what it takes, the plan does not pan with. */
export function pointing(hand: Hand): Interaction {
  let fingers = 0;
  return new Interaction({
    handleEvent: (event) => {
      const kind = KINDS[event.type];
      if (kind === undefined || !(event.originalEvent instanceof PointerEvent)) return true;
      const browser = event as MapBrowserEvent<PointerEvent>;
      if (kind === "move" && browser.dragging) return true;
      if (kind === "down" && browser.originalEvent.button !== 0) return true;
      fingers = browser.activePointers?.length ?? (kind === "down" ? 1 : fingers);
      // A second finger means pinching: what the first one held is let go.
      if (fingers > 1) {
        hand.cancelDrag();
        return true;
      }
      const touch = touchOf(browser);
      if (kind === "move") pointed.value = { east: touch.site[0], north: touch.site[1], from: "plan" };
      const cancelled = browser.originalEvent.type === "pointercancel";
      return !hand.feed(cancelled ? "cancel" : kind, touch);
    },
  });
}

function touchOf(event: MapBrowserEvent<PointerEvent>): Touch {
  const { originalEvent } = event;
  const [x = 0, y = 0] = event.pixel;
  const [east = 0, north = 0] = event.coordinate;
  return {
    screen: [x, y],
    site: [east, north] as SitePoint,
    coarse: originalEvent.pointerType === "touch",
    alt: originalEvent.altKey,
    shift: originalEvent.shiftKey,
    metresPerPixel: event.map.getView().getResolution() ?? 1,
  };
}
