import { beforeEach, describe, expect, test, vi } from "vitest";

vi.hoisted(() => {
  const held = new Map<string, string>();
  globalThis.localStorage = {
    getItem: (key: string) => held.get(key) ?? null,
    setItem: (key: string, value: string) => void held.set(key, value),
  } as unknown as Storage;
});

import type { Finding, Job } from "../../src/api/types";
import type { SitePoint } from "../../src/geometry/types";
import { Hand } from "../../src/plan/hand";
import { flagsOf } from "../../src/plan/layers/flags";
import { leaves } from "../../src/state/desk";
import { type Json, type Op, applyOps } from "../../src/state/ops";
import type { Selection, Session } from "../../src/state/session";
import { signal } from "../../src/state/signal";
import { tool } from "../../src/state/tool";
import { smallJob } from "./fake-hand";

/** Only what the hand uses of a session. */
function fakeSession() {
  const labels: string[] = [];
  const job = signal<Job>(smallJob());
  const preview = signal<readonly Op[] | null>(null);
  const cuts: unknown[] = [];
  const session = {
    shown: job,
    preview,
    selection: signal<Selection | null>(null),
    checks: signal<readonly Finding[]>([]),
    drag: (ops: readonly Op[]) => void (preview.value = ops),
    cancel: () => void (preview.value = null),
    commit: (label: string, ops: readonly Op[]) => {
      labels.push(label);
      preview.value = null;
      job.value = applyOps(job.value as unknown as Json, ops) as unknown as Job;
    },
    section: (points: unknown) => void cuts.push(points),
  };
  return { session: session as typeof session & Session, labels, cuts };
}

const touch = (site: SitePoint) => ({ screen: [site[0] * 20, -site[1] * 20] as const, site, coarse: false, alt: false, shift: false, metresPerPixel: 0.05 });
const stop: Finding = {
  code: "rim.low", grade: "stop", says: "", where: { paths: ["a"], points: [[3, 4]] }, value: null, limit: null,
  operator: "", kind: "", source: null, advice: [], assumes: [], accepted: "",
};

describe("the hand", () => {
  beforeEach(() => {
    tool.value = "select";
    leaves.value = [];
  });

  test("previews a drag, makes one edit of the drop, and keeps the plan from panning meanwhile", () => {
    const { session, labels } = fakeSession();
    const hand = new Hand(session, () => 0, () => true, () => true);
    const taken = hand.feed("down", touch([0, 0]));
    hand.feed("drag", touch([5, -5]));
    const moved = session.preview.value;
    hand.feed("up", touch([5, -5]));

    expect([taken, hand.holds]).toEqual([true, false]);
    expect(moved).toHaveLength(1);
    expect(labels).toEqual(["move peg p1"]);
  });

  test("Escape drops the drag, then the choice, then the tool, then leaves Escape to others", () => {
    const { session, labels } = fakeSession();
    const hand = new Hand(session, () => 0, () => true, () => true);
    tool.value = "measure";
    const escape = (): boolean => hand.key({ key: "Escape", shift: false, up: false });
    hand.feed("down", touch([50, 50]));
    hand.feed("up", touch([50, 50]));

    const answers = [escape(), escape(), escape()];

    expect(answers).toEqual([true, true, false]);
    expect(tool.value).toBe("select");
    expect(hand.sketch.value).toBeNull();
    expect(labels).toEqual([]);
  });

  test("a second finger lets go of the peg and keeps what is drawn", () => {
    const { session } = fakeSession();
    const hand = new Hand(session, () => 0, () => true, () => true);
    hand.feed("down", touch([0, 0]));
    hand.feed("drag", touch([5, -5]));
    hand.cancelDrag();

    expect(session.preview.value).toBeNull();
    expect(hand.holds).toBe(false);
  });

  test("a finished line goes back to choosing and its words stay", () => {
    const { session, cuts } = fakeSession();
    const hand = new Hand(session, () => 0, () => true, () => true);
    tool.value = "section";
    for (const place of [[50, 50], [60, 50]] as const) {
      hand.feed("down", touch(place));
      hand.feed("up", touch(place));
    }
    hand.key({ key: "Enter", shift: false, up: false });

    expect(tool.value).toBe("select");
    expect(cuts.at(-1)).toEqual([[50, 50], [60, 50]]);
    expect(hand.says.value).toContain("follows every change");
  });

  test("a press on a flag opens its check", () => {
    const { session } = fakeSession();
    session.checks.value = [stop];
    const hand = new Hand(session, () => 0, () => true, () => true);
    hand.feed("down", touch([3, 4]));
    hand.feed("up", touch([3, 4]));

    expect(leaves.value).toEqual([{ kind: "check", key: flagsOf([stop], [])[0]?.check }]);
  });

  test("only open checks that have a place get a flag", () => {
    const nowhere = { ...stop, where: { paths: ["b"], points: [] } };
    const accepted = { ...stop, accepted: "ok" };
    const good = { ...stop, grade: "good" as const };

    expect(flagsOf([stop, nowhere, accepted, good], []).map((flag) => flag.point)).toEqual([[3, 4]]);
  });
});
