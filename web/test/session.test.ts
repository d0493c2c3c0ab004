import { afterEach, beforeEach, expect, test, vi } from "vitest";
import type { Job } from "../src/api/types";
import { FakeSocket, standIn } from "./fakes";

standIn();
const { CannotChange, Session } = await import("../src/state/session");

const job = {
  format: 1,
  id: "mill_lane",
  name: "Mill Lane 4",
  site: { shots: { s1: { place: { by: "coordinates", east: 0, north: 0 }, elevation: 30 } } },
  shape: {},
} as unknown as Job;

let session: InstanceType<typeof Session>;
let socket: FakeSocket;

const rename = (name: string) => [{ op: "replace" as const, path: "/name", value: name }];
const header = (rev: number, seq: number, more: object = {}) => ({ seq, rev, lod: 1, since: null, state: "exact", figures: { "shape.storage": { volume: 1 } }, stages: {}, checks: [], grid: null, arrays: [], ...more });

beforeEach(() => {
  vi.useFakeTimers();
  session = new Session("0123456789abcdef", "Ann", "ws://here/live");
  socket = FakeSocket.newest;
  socket.open();
  socket.tell({ type: "doc", rev: 7, job });
});

afterEach(() => {
  session.close();
  vi.useRealTimers();
});

test("it greets, takes the document, and asks for a frame at once", () => {
  expect(socket.of("hello")[0]).toMatchObject({ proto: 1, rev: null, author: "Ann" });
  expect(session.rev.value).toBe(7);
  expect(session.job.value?.shown_units).toBe("metric");
  expect(socket.of("live")).toHaveLength(1);
});

test("an edit shows at once and is confirmed later", () => {
  session.commit("rename", rename("Mill Lane 5"));

  expect(session.job.value?.name).toBe("Mill Lane 5");
  expect(session.rev.value).toBe(7);
  expect(session.unsent).toBe(1);

  const [edit] = socket.of("edit");
  socket.tell({ type: "ack", id: edit?.["id"], rev: 8 });

  expect(session.rev.value).toBe(8);
  expect(session.unsent).toBe(0);
});

test("numbers are exact only when their revision is the one that is shown", () => {
  expect(session.link.value).toBe("moving");
  socket.show(header(7, 1));
  expect(session.link.value).toBe("exact");

  session.commit("rename", rename("x"));
  expect(session.link.value).toBe("moving");
  socket.tell({ type: "ack", id: socket.of("edit")[0]?.["id"], rev: 8 });
  expect(session.link.value).toBe("moving");
  socket.show(header(8, 2, { lod: 2 }));
  expect(session.link.value).toBe("moving");
  socket.show(header(8, 2));
  expect(session.link.value).toBe("exact");
});

test("of many wishes in a drag one is under way and the newest waits", () => {
  socket.show(header(7, 1));
  const before = socket.of("live").length;

  for (let step = 1; step <= 5; step += 1) session.drag(rename(`step ${step}`));

  expect(socket.of("live")).toHaveLength(before + 1);
  socket.show(header(7, socket.of("live").at(-1)?.["seq"] as number, { lod: 2, state: "moving" }));
  expect(socket.of("live")).toHaveLength(before + 2);
  expect(socket.of("live").at(-1)).toMatchObject({ lod: 2, ops: rename("step 5") });
});

test("a drag is no edit, and to cancel it leaves no trace", () => {
  session.drag(rename("half way"));
  expect(session.shown.value?.name).toBe("half way");
  expect(session.job.value?.name).toBe("Mill Lane 4");

  session.cancel();

  expect(session.shown.value?.name).toBe("Mill Lane 4");
  expect(socket.of("edit")).toHaveLength(0);
});

test("a wish that cannot be computed says why and does not hold up the next", () => {
  socket.show(header(7, 1));
  session.drag(rename("bad"));
  const bad = socket.of("live").at(-1);
  session.drag(rename("good"));

  socket.tell({ type: "cannot", seq: bad?.["seq"], why: "the shore crosses itself" });

  expect(session.trouble.value).toBe("the shore crosses itself");
  expect(socket.of("live").at(-1)).toMatchObject({ ops: rename("good") });
});

test("undo and redo are edits of their own", () => {
  session.commit("rename", rename("Mill Lane 5"));

  session.undo();
  expect(session.job.value?.name).toBe("Mill Lane 4");
  expect(session.redoable.value.map(({ label }) => label)).toEqual(["rename"]);

  session.redo();
  expect(session.job.value?.name).toBe("Mill Lane 5");
  expect(socket.of("edit")).toHaveLength(3);
});

test("what the server adds to an edit is taken back by the same step of undo", () => {
  const sent = rename("Mill Lane 5");
  session.commit("rename", sent);
  const added = [...sent, { op: "replace" as const, path: "/shown_units", value: "us" }];
  const edit = { id: socket.of("edit")[0]?.["id"] as string, rev: 8, base: 7, author: "Ann", label: "rename", ops: added };
  socket.tell({ type: "patch", rev: 8, edits: [edit] });
  socket.tell({ type: "ack", id: edit.id, rev: 8 });
  expect([session.job.value?.name, session.job.value?.shown_units]).toEqual(["Mill Lane 5", "us"]);
  expect(session.undoable.value).toHaveLength(1);

  session.undo();

  expect([session.job.value?.name, session.job.value?.shown_units]).toEqual(["Mill Lane 4", "metric"]);
});

test("undo of what somebody else changed since is refused in words, and stays undoable", () => {
  session.commit("rename", rename("mine"));
  socket.tell({ type: "ack", id: socket.of("edit")[0]?.["id"], rev: 8 });
  socket.tell({ type: "patch", rev: 9, edits: [{ rev: 9, id: "other-1", ops: rename("theirs"), author: "Bo", label: "rename" }] });

  expect(() => session.undo()).toThrow(CannotChange);
  expect(session.undoable.value).toHaveLength(1);
  expect(session.job.value?.name).toBe("theirs");
});

test("a refused edit goes to the tray and the document is the server's again", () => {
  session.commit("rename", rename("mine"));
  const [edit] = socket.of("edit");

  socket.tell({ type: "nak", id: edit?.["id"], rev: 8, why: "changed meanwhile", faults: [], edits: [{ rev: 8, id: "other-1", ops: rename("theirs") }] });

  expect(session.job.value?.name).toBe("theirs");
  expect(session.tray.value.map(({ why }) => why)).toEqual(["changed meanwhile"]);

  session.retry(session.tray.value[0] as never);
  expect(session.tray.value).toHaveLength(0);
  expect(session.job.value?.name).toBe("mine");
});

test("edits made without a server wait and are sent again when it is back", () => {
  socket.drop();
  expect(session.link.value).toBe("no server");
  session.commit("rename", rename("offline"));
  expect(session.job.value?.name).toBe("offline");
  expect(socket.of("edit")).toHaveLength(0);

  vi.advanceTimersByTime(600);
  const again = FakeSocket.newest;
  expect(again).not.toBe(socket);
  again.open();
  expect(again.of("hello")[0]).toMatchObject({ rev: 7 });
  again.tell({ type: "patch", rev: 7, edits: [] });

  expect(again.of("edit")).toHaveLength(1);
  again.tell({ type: "ack", id: again.of("edit")[0]?.["id"], rev: 8 });
  expect(session.unsent).toBe(0);
});

test("an edit that was kept just before the connection broke is not doubled", () => {
  session.commit("rename", rename("kept"));
  const id = socket.of("edit")[0]?.["id"];
  socket.drop();
  vi.advanceTimersByTime(600);
  const again = FakeSocket.newest;
  again.open();
  again.tell({ type: "patch", rev: 8, edits: [{ rev: 8, id, ops: rename("kept") }] });

  expect(session.unsent).toBe(0);
  expect(session.rev.value).toBe(8);
  expect(session.job.value?.name).toBe("kept");
});

test("a job that the server does not have is said once and not asked for again", () => {
  socket.tell({ type: "bye", why: "there is no such job" });
  socket.drop();
  vi.advanceTimersByTime(20_000);

  expect(session.ended.value).toBe("there is no such job");
  expect(FakeSocket.newest).toBe(socket);
});
