import { expect, test, vi } from "vitest";
import { standIn } from "../fakes";

standIn();

const { followLook, looks } = await import("../../src/plan/ink");
const { textHeights } = await import("ol/render/canvas");

const NEVER = (): void => undefined;

function fontIs(there: boolean, load: () => Promise<unknown>): void {
  vi.stubGlobal("MutationObserver", class { observe(): void {} disconnect(): void {} });
  vi.stubGlobal("document", { documentElement: {}, fonts: { check: () => there, load } });
}

test("the plan is drawn again when the font of the page comes late, with heights measured anew", async () => {
  let come = (): void => undefined;
  fontIs(false, () => new Promise<void>((done) => (come = done)));
  textHeights["12px other"] = 19;
  const stop = followLook();
  const before = looks.value;
  come();
  await vi.waitFor(() => expect(looks.value).toBe(before + 1));

  expect(Object.keys(textHeights)).toEqual([]);
  stop();
});

test("it is drawn once where the font is there, never comes, or comes when nobody looks any more", async () => {
  let come = NEVER;
  for (const [there, load] of [[true, async () => []], [false, async () => Promise.reject(new Error("no server"))], [false, () => new Promise<void>((done) => (come = done))]] as const) {
    fontIs(there, load);
    const stop = followLook();
    const before = looks.value;
    const isAwaited = come !== NEVER;
    if (isAwaited) stop();
    come();
    await new Promise((done) => setTimeout(done, 0));
    expect(looks.value).toBe(before);
    stop();
  }
});
