/** The hand that moves and chooses: pegs, curves, islands, shots, things, flags. */

import { pointer } from "../../state/ops";
import type { Selection } from "../../state/session";
import { OUTER, calledBy } from "../rings";
import { say } from "../say";
import { distance } from "../plane";
import { type Answer, type Gesture, type Key, NOTHING, type Touch, type World, target } from "./gesture";
import { builtAt, isLaid, laidAt } from "../built";
import { arrowAt } from "../hauls";
import { saysOfHaul } from "../haul-words";
import { stonesShown } from "../../state/stone-shown";
import { isStoneKind, stoneAt } from "../stones";
import { type SoilPlace, pathOfSoil, soilOps, soilPlace, soilPlaceAt } from "../soil-places";
import { type PegHit, boundAt, curveAt, islandAt, pegAt, probeAt, shotAt, thingAt } from "./hit";
import { HeldBuilt, HeldPoint, type Movable, chosenWords, movableAt, movableOf, movableOut, nextPoint, pointTo } from "./movable";
import { Nudge } from "./nudge";
import { HeldPeg, cornerTurned, neighbour, pegOut, pegSelection, pegTo, placeFor, ringOfSelection } from "./peg";
import { HeldSection, HeldSoil, sectionPart } from "./soil";
import { HeldIsland, islandSelection, islandTo } from "./whole-island";

const SAME_PLACE = 1e-3; // metres

export class Choose implements Gesture {
  readonly tool = "select";
  private held: HeldPeg | HeldIsland | HeldSoil | HeldSection | HeldPoint | HeldBuilt | null = null;
  private readonly nudge: Nudge;
  /** The chosen peg or island goes where the next press is. */
  private armed = false;

  constructor(rotation: () => number) {
    this.nudge = new Nudge(rotation);
  }

  begin(): Answer {
    return { says: say("plan.choose") };
  }

  down(touch: Touch, world: World): Answer {
    this.held = null;
    if (touch.alt || flagAt(touch, world) !== null) return NOTHING;
    const { peg, point } = under(touch, world);
    if (peg) {
      this.held = HeldPeg.of(peg.ring, peg.peg, peg.point, touch);
      return { taken: true };
    }
    if (point) return this.hold(HeldPoint.of(point, touch));
    const end = world.cut ? sectionPart(world.cut, touch.site, target(touch)) : null;
    if (world.cut && end !== null && end >= 0) return this.hold(new HeldSection(world.cut, end, touch.site));
    // A finger that lands on the curve may want to pan; it puts a peg in only by a tap.
    if (touch.coarse) return this.holdChosen(touch, world);
    const chosen = HeldBuilt.chosen(touch, world);
    if (chosen) return this.hold(chosen);
    const curve = curveAt(world.job, touch.site, target(touch));
    if (curve) {
      this.held = HeldPeg.inserted(curve, world);
      return { taken: true };
    }
    const soil = soilPlaceAt(world.job, touch.site, target(touch));
    if (soil) return this.hold(new HeldSoil(soil, touch.site));
    if (world.cut && end !== null) return this.hold(new HeldSection(world.cut, end, touch.site));
    const island = islandAt(world.job, touch.site);
    return island ? this.hold(new HeldIsland(island, touch.site)) : NOTHING;
  }

  drag(touch: Touch, world: World): Answer {
    this.armed = false;
    return this.held?.drag(touch, world) ?? NOTHING;
  }

  drop(touch: Touch, world: World): Answer {
    const { held } = this;
    this.held = null;
    if (held === null) return NOTHING;
    held.drag(touch, world);
    return held.drop();
  }

  tap(touch: Touch, world: World): Answer {
    const { held } = this;
    this.held = null;
    const flag = flagAt(touch, world);
    if (flag !== null) return { check: flag };
    const { peg, point } = under(touch, world);
    if (peg && touch.alt) return pegOut({ ...world, selection: pegSelection(peg.ring, peg.peg) });
    if (peg) return this.choosePeg(pegSelection(peg.ring, peg.peg), world);
    if (point) return touch.alt ? (movableOut({ ...world, selection: point.selection }) ?? NOTHING) : this.choosePoint(point.selection, world);
    if (this.armed && isMovable(world.selection)) return this.putChosen(touch, world);
    const curve = curveAt(world.job, touch.site, target(touch));
    const into = held instanceof HeldPoint ? held : HeldPoint.inserted(touch, world);
    if (into) return into.drop();
    if (curve) return (held instanceof HeldPeg ? held : HeldPeg.inserted(curve, world)).drop();
    return this.chooseOther(touch, world);
  }

  hover(touch: Touch, world: World): Answer {
    if (!this.armed || !isMovable(world.selection)) return NOTHING;
    const name = ringOfSelection(world.selection);
    if (world.selection?.kind !== "peg" || name === null) return NOTHING;
    const { point, says, on } = placeFor(touch, world, name);
    return { mark: on ? point : null, says: says || say("plan.tapTo", { id: world.selection.id }) };
  }

  key(key: Key, world: World): Answer | null {
    const nudged = this.nudge.key(key, world);
    if (nudged || key.up) return nudged;
    if (world.selection?.kind === "peg") {
      if (key.key === "Delete" || key.key === "Backspace") return pegOut(world);
      if (key.key === "c") return cornerTurned(world);
      if (key.key === "n") return neighbour(world, 1);
      if (key.key === "p") return neighbour(world, -1);
    }
    if (key.key === "n") return nextPoint(world, 1);
    if (key.key === "p") return nextPoint(world, -1);
    if (key.key === "Delete" && world.selection) return removed(world);
    return null;
  }

  cancel(_world: World): Answer {
    const back = this.held instanceof HeldSection ? this.held.undone() : NOTHING;
    this.held = null;
    this.armed = false;
    this.nudge.cancel();
    return { ...back, preview: null, mark: null, says: say("plan.choose") };
  }

  private hold(held: HeldIsland | HeldSoil | HeldSection | HeldPoint | HeldBuilt): Answer {
    this.held = held;
    return { taken: true };
  }

  private choosePeg(selection: Selection, world: World): Answer {
    const again = world.selection?.kind === "peg" && world.selection.id === selection.id && this.armed;
    this.armed = !again;
    return again ? { selection: null, says: say("plan.choose") } : { selection, says: say("plan.chosen.peg", { id: selection.id }) };
  }

  /** A point of a way or a mound, a seat, a fall or a low spot: the next press is where it goes. */
  private choosePoint(selection: Selection, world: World): Answer {
    const { selection: before } = world;
    const again = before?.kind === selection.kind && before.id === selection.id && before.at === selection.at && this.armed;
    this.armed = !again;
    return again ? { selection: null, says: say("plan.choose") } : { selection, says: chosenWords(selection, world.job) };
  }

  private putChosen(touch: Touch, world: World): Answer {
    this.armed = false;
    if (movableOf(world.job, world.selection)) return pointTo(world, touch.site);
    if (world.selection?.kind === "body") return islandTo(world, touch.site);
    const soil = chosenSoil(world);
    if (soil) return { commit: { label: say("plan.label.moveSoil", { name: soil.name }), ops: soilOps(soil, touch.site) } };
    const name = ringOfSelection(world.selection);
    if (name === null) return NOTHING;
    const { point, says } = placeFor(touch, world, name);
    return { ...pegTo(world, point, says), mark: null };
  }

  private chooseOther(touch: Touch, world: World): Answer {
    const photo = world.photos?.find((one) => distance(one.point, touch.site) <= target(touch));
    if (photo) return { open: { kind: "photo", id: photo.id } };
    const probe = probeAt(world.job, touch.site, target(touch));
    // A pit is often shot beside: the nearer of the two is meant. Where both are one place, a second press means the shot.
    const again = world.selection?.kind === "probe" && world.selection.id === probe?.id;
    const shot = shotAt(world.job, touch.site, probe === null || again ? target(touch) : distance(probe.point, touch.site) - SAME_PLACE);
    if (shot) return { selection: { kind: "shot", id: shot }, says: say("plan.chosen.shot", { id: shot }) };
    if (probe) return { selection: { kind: "probe", id: probe.id }, says: say("plan.chosen.probe", { id: probe.id }) };
    const laid = laidAt(world.job, touch.site, target(touch));
    const stone = stonesShown.value ? stoneAt(world.job, touch.site, target(touch)) : null;
    // A stone lies on the lines below it.
    if (laid && !(stone && laid.place.at === "line")) {
      const selection = { kind: laid.kind, id: laid.id } as const;
      return { selection, says: chosenWords(selection, world.job) };
    }
    if (stone) {
      const selection = { kind: stone.kind, id: stone.id, ...(stone.at === undefined ? {} : { at: stone.at }) };
      this.armed = true;
      return { selection, says: chosenWords(selection, world.job) };
    }
    const thing = thingAt(world.job, touch.site, target(touch));
    if (thing) {
      const name = world.job.site.things?.[thing]?.name || thing;
      return { selection: { kind: "thing", id: thing }, says: say("plan.chosen.thing", { name }) };
    }
    const built = builtAt(world.job, touch.site, target(touch));
    if (built) {
      const selection = { kind: built.kind, id: built.id } as const;
      return { selection, says: chosenWords(selection, world.job) };
    }
    const soil = soilPlaceAt(world.job, touch.site, target(touch));
    if (soil) {
      this.armed = true;
      return { selection: { kind: soil.kind, id: soil.id }, says: say("plan.chosen.soil", { name: soil.name }) };
    }
    const arrow = arrowAt(world.hauls ?? [], touch.site, target(touch));
    if (arrow) return { selection: null, says: saysOfHaul(arrow, world.job, world.units) };
    const bound = boundAt(world.job, touch.site, target(touch));
    if (bound) return { selection: null, open: { kind: "site-page", name: "bounds", row: `site.bounds.${bound}` } };
    const island = islandAt(world.job, touch.site);
    if (!island) return { selection: null, says: say("plan.choose") };
    this.armed = true;
    return { selection: islandSelection(island), says: say("plan.chosen.island", { id: island.ring }) };
  }

  private holdChosen(touch: Touch, world: World): Answer {
    const built = HeldBuilt.chosen(touch, world);
    if (built) return this.hold(built);
    const soil = soilPlaceAt(world.job, touch.site, target(touch));
    if (soil && world.selection?.kind === soil.kind && world.selection.id === soil.id) return this.hold(new HeldSoil(soil, touch.site));
    if (world.cut && world.selection?.kind === "section" && sectionPart(world.cut, touch.site, target(touch)) !== null) return this.hold(new HeldSection(world.cut, -1, touch.site));
    const island = islandAt(world.job, touch.site);
    if (!island || world.selection?.kind !== "body" || world.selection.id !== island.ring) return NOTHING;
    this.held = new HeldIsland(island, touch.site);
    return { taken: true };
  }
}

/** Take the chosen thing, shot or island out of the job. */
export function removed(world: World): Answer {
  const { job, selection } = world;
  const out = movableOut(world);
  if (out) return out;
  const path = selection && pathOf(selection);
  if (!selection || !path) return NOTHING;
  const used = Object.values(job.site.lines ?? {}).some((line) => line.shots?.includes(selection.id));
  if (selection.kind === "shot" && used) return { says: say("plan.shotInLine", { id: selection.id }) };
  return { commit: { label: say("plan.label.remove", { id: selection.kind === "shot" ? selection.id : job.site.things?.[selection.id]?.name || calledBy(selection.id) }), ops: [{ op: "remove", path }] }, selection: null };
}

function pathOf({ kind, id, body, ring }: Selection): string | null {
  if (kind === "shot") return pointer("site", "shots", id);
  if (kind === "probe") return pointer("site", "probes", id);
  if (kind === "thing") return pointer("site", "things", id);
  if (kind === "pile" || kind === "gate") return pathOfSoil(kind, id);
  if (kind === "body" && body && ring && ring !== OUTER) return pointer("shape", "bodies", body, "islands", ring);
  return null;
}

function isMovable(selection: Selection | null): boolean {
  if (["pile", "gate", "fall", "low_spot"].includes(selection?.kind ?? "") || isLaid(selection?.kind ?? "") || isStoneKind(selection?.kind ?? "")) return true;
  if (selection?.kind === "seat" || ((selection?.kind === "way" || selection?.kind === "mound") && selection.at !== undefined)) return true;
  return selection?.kind === "peg" || (selection?.kind === "body" && (selection.ring ?? OUTER) !== OUTER);
}

function chosenSoil({ job, selection }: World): SoilPlace | null {
  return selection ? soilPlace(job, selection.kind, selection.id) : null;
}

/** The peg under a press, or another point where that is no farther away. */
function under(touch: Touch, world: World): { readonly peg: PegHit | null; readonly point: Movable | null } {
  const peg = pegAt(world.job, touch.site, target(touch));
  const point = movableAt(touch, world);
  if (!peg || !point) return { peg, point };
  return distance(point.point, touch.site) <= distance(peg.point, touch.site) ? { peg: null, point } : { peg, point: null };
}

function flagAt(touch: Touch, world: World): string | null {
  const near = world.flags.find((flag) => distance(flag.point, touch.site) <= target(touch));
  return near?.check ?? null;
}
