/**
 * The live channel to the server: edits up, documents and frames down.
 *
 * At most one drag preview is under way; the newest waits, older ones are dropped.  Edits are kept
 * until the server has said yes or no to them, and are sent again after a lost connection: the
 * server keeps an id once.
 */

import type { Op } from "../state/ops";
import { type Frame, decodeFrame } from "./frame";
import type { Fault, Job, KeptEdit } from "./types";

export interface PendingEdit {
  readonly id: string;
  readonly base: number;
  readonly ops: readonly Op[];
  readonly label: string;
}

export interface LiveRequest {
  readonly base: number;
  readonly ops: readonly Op[] | null;
  readonly lod: 1 | 2;
  readonly want: readonly string[];
  readonly section: { readonly points: readonly (readonly [number, number])[] } | null;
}

export interface LiveEvents {
  document(rev: number, job: Job): void;
  patch(rev: number, edits: readonly KeptEdit[]): void;
  accepted(id: string, rev: number): void;
  refused(id: string, rev: number, why: string, faults: readonly Fault[], edits: readonly KeptEdit[]): void;
  frame(frame: Frame): void;
  connected(yes: boolean): void;
  /** What is under the hand cannot be computed: why. */
  cannot(why: string): void;
  /** The server will not talk about this job: why. */
  ended(why: string): void;
}

interface Message {
  readonly type: string;
  readonly rev: number;
  readonly seq?: number;
  readonly id?: string;
  readonly job?: Job;
  readonly edits?: readonly KeptEdit[];
  readonly why?: string;
  readonly faults?: readonly Fault[];
}

const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 8000;
const PING_MS = 15_000;
const ANSWER_MS = 5000;

export class LiveLink {
  private socket: WebSocket | null = null;
  private readonly unanswered = new Map<string, PendingEdit>();
  private waiting: LiveRequest | null = null;
  /** The frame that the next one goes on from; a new connection begins anew. */
  private last: Frame | null = null;
  private underWay: number | null = null;
  private seq = 0;
  private wait = FIRST_WAIT_MS;
  private closed = false;
  private ready = false;
  private timer = 0;
  private ping = 0;
  private patience = 0;

  constructor(
    private readonly address: string,
    private readonly client: string,
    private author: string,
    private readonly rev: () => number | null,
    private readonly events: LiveEvents,
  ) {
    this.open();
  }

  /** Edits that the server has not answered yet, oldest first. */
  get pending(): readonly PendingEdit[] {
    return [...this.unanswered.values()];
  }

  /** Send an edit now, or as soon as there is a server. */
  edit(edit: PendingEdit): void {
    this.unanswered.set(edit.id, edit);
    if (this.ready) this.send({ type: "edit", ...edit });
  }

  /** Ask for a frame; a newer wish takes the place of one that waits. */
  live(request: LiveRequest): void {
    this.waiting = request;
    this.sendWaiting();
  }

  /** The server hears a name in the greeting only: greet it again. Edits under way are sent again. */
  rename(author: string): void {
    if (author === this.author) return;
    this.author = author;
    this.wait = 0;
    this.socket?.close();
  }

  close(): void {
    this.closed = true;
    window.clearTimeout(this.timer);
    window.clearTimeout(this.patience);
    window.clearInterval(this.ping);
    this.socket?.close();
  }

  private open(): void {
    const socket = new WebSocket(this.address);
    socket.binaryType = "arraybuffer";
    socket.onopen = () => this.greet();
    socket.onmessage = (event: MessageEvent<string | ArrayBuffer>) => this.receive(event.data);
    socket.onclose = () => this.lost();
    this.socket = socket;
  }

  private greet(): void {
    this.wait = FIRST_WAIT_MS;
    this.send({ type: "hello", proto: 1, rev: this.rev(), client: this.client, author: this.author });
    this.ping = window.setInterval(() => this.send({ type: "ping" }), PING_MS);
  }

  private lost(): void {
    window.clearInterval(this.ping);
    this.ready = false;
    this.underWay = null;
    this.events.connected(false);
    if (this.closed) return;
    this.timer = window.setTimeout(() => this.open(), this.wait);
    this.wait = Math.min(2 * this.wait, LONGEST_WAIT_MS);
  }

  private receive(data: string | ArrayBuffer): void {
    if (typeof data === "string") this.receiveMessage(JSON.parse(data) as Message);
    else this.receiveFrame(data);
  }

  private receiveMessage(message: Message): void {
    const { type, rev, id = "", edits = [], why = "", faults = [] } = message;
    if (type === "doc" && message.job) {
      this.events.document(rev, message.job);
      this.begin();
    } else if (type === "patch") {
      this.events.patch(rev, edits);
      if (!this.ready) this.begin();
    } else if (type === "ack") {
      this.unanswered.delete(id);
      this.events.accepted(id, rev);
    } else if (type === "nak") {
      this.unanswered.delete(id);
      this.events.refused(id, rev, why, faults, edits);
    } else if (type === "cannot") {
      this.events.cannot(why);
      if (message.seq === this.underWay) this.giveUp();
    } else if (type === "bye") {
      this.close();
      this.events.ended(why);
    }
  }

  private begin(): void {
    this.ready = true;
    for (const edit of this.unanswered.values()) this.send({ type: "edit", ...edit });
    this.events.connected(true);
    this.sendWaiting();
  }

  private receiveFrame(data: ArrayBuffer): void {
    const frame = decodeFrame(data, this.last);
    this.last = frame;
    if (frame.header.seq === this.underWay) {
      this.underWay = null;
      // The server works on the next wish while this answer is drawn.  Drawing is not overrun: the answer
      // to that one is heard when this one is on the screen.
      this.sendWaiting();
    }
    this.events.frame(frame);
  }

  private sendWaiting(): void {
    if (!this.ready || this.underWay !== null || this.waiting === null) return;
    this.seq += 1;
    this.underWay = this.seq;
    this.send({ type: "live", seq: this.seq, ...this.waiting });
    this.waiting = null;
    window.clearTimeout(this.patience);
    // A preview that the server cannot compute has no answer; the next one must not wait for it.
    this.patience = window.setTimeout(() => this.giveUp(), ANSWER_MS);
  }

  private giveUp(): void {
    this.underWay = null;
    this.sendWaiting();
  }

  private send(message: object): void {
    if (this.socket?.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(message));
  }
}
