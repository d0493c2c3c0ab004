/** The view of the plan: metres of the site, pan, zoom, and a turn that is locked unless one wants it. */

import type OlMap from "ol/Map";
import View from "ol/View";
import { getCenter } from "ol/extent";
import Projection from "ol/proj/Projection";
import type { Job } from "../api/types";
import type { SitePoint } from "../geometry/types";
import { type Signal, signal } from "../state/signal";
import { everyPoint, extentOf, shorePoints } from "./places";

const FINEST = 0.002; // metres for a pixel
const COARSEST = 5;
const FARTHEST = 200_000; // metres from the zero of the site
const PAN_PX = 80;
const TURN = Math.PI / 12;
const MARGIN_PX = [72, 48, 64, 48];

const SITE = new Projection({
  code: "SITE",
  units: "m",
  extent: [-FARTHEST, -FARTHEST, FARTHEST, FARTHEST],
  global: false,
});

export class PlanView {
  readonly view = new View({
    projection: SITE,
    center: [0, 0],
    resolution: 0.1,
    minResolution: FINEST,
    maxResolution: COARSEST,
    constrainRotation: false,
    constrainOnlyCenter: true,
    showFullExtent: true,
  });

  /** Whether two fingers and the buttons may turn the plan. */
  readonly turning: Signal<boolean> = signal(false);

  constructor(private readonly map: () => OlMap) {}

  /** Show the water, or everything where there is none; false when there is nothing to show. */
  toWater(job: Job): boolean {
    const points = shorePoints(job);
    return this.show(points.length > 0 ? points : everyPoint(job), 0.12);
  }

  toAll(job: Job): boolean {
    return this.show(everyPoint(job), 0.04);
  }

  /** Bring places into view, and nearer only when they would not be seen. */
  bringIn(points: readonly SitePoint[]): void {
    const box = extentOf(points);
    const size = this.map().getSize();
    if (box === null || size === undefined) return;
    const seen = this.view.calculateExtent(size);
    const inside = points.every(([east, north]) => east > (seen[0] ?? 0) && east < (seen[2] ?? 0) && north > (seen[1] ?? 0) && north < (seen[3] ?? 0));
    if (inside) return;
    const resolution = Math.max(this.view.getResolution() ?? 0.1, this.view.getResolutionForExtent(box, size) * 1.3);
    this.view.setCenter(getCenter(box));
    this.view.setResolution(resolution);
  }

  pan(right: number, up: number): void {
    const step = PAN_PX * (this.view.getResolution() ?? 1);
    const angle = this.view.getRotation();
    const [east = 0, north = 0] = this.view.getCenter() ?? [];
    const [across, along] = [right * step, up * step];
    this.view.setCenter([
      east + across * Math.cos(angle) + along * Math.sin(angle),
      north - across * Math.sin(angle) + along * Math.cos(angle),
    ]);
  }

  zoom(steps: number): void {
    this.view.adjustZoom(steps);
  }

  turn(steps: number): void {
    this.view.adjustRotation(steps * TURN);
  }

  turnBack(): void {
    this.view.setRotation(0);
  }

  private show(points: readonly SitePoint[], margin: number): boolean {
    const box = extentOf(points);
    if (box === null) return false;
    const grow = Math.max(margin * Math.max(box[2] - box[0], box[3] - box[1]), 1);
    this.view.fit([box[0] - grow, box[1] - grow, box[2] + grow, box[3] + grow], { padding: MARGIN_PX, minResolution: FINEST });
    return true;
  }
}
