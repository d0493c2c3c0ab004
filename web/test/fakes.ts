/** A browser just large enough for the state of the page: storage, timers, and a socket that a test drives. */

import { vi } from "vitest";

export class FakeSocket {
  static newest: FakeSocket;
  static readonly OPEN = 1;
  readonly OPEN = 1;
  readyState = 0;
  binaryType = "";
  onopen: (() => void) | null = null;
  onmessage: ((event: { data: string | ArrayBuffer }) => void) | null = null;
  onclose: (() => void) | null = null;
  readonly sent: Record<string, unknown>[] = [];

  constructor(readonly address: string) {
    FakeSocket.newest = this;
  }

  send(text: string): void {
    this.sent.push(JSON.parse(text) as Record<string, unknown>);
  }

  close(): void {
    this.readyState = 3;
  }

  open(): void {
    this.readyState = 1;
    this.onopen?.();
  }

  drop(): void {
    this.readyState = 3;
    this.onclose?.();
  }

  tell(message: object): void {
    this.onmessage?.({ data: JSON.stringify(message) });
  }

  show(header: object, arrays: ArrayBuffer = new ArrayBuffer(0)): void {
    this.onmessage?.({ data: frameBytes(header, arrays) });
  }

  of(type: string): Record<string, unknown>[] {
    return this.sent.filter((message) => message["type"] === type);
  }
}

/** A frame as the server packs it. */
export function frameBytes(header: object, arrays: ArrayBuffer): ArrayBuffer {
  const text = JSON.stringify(header);
  const padded = text + " ".repeat((8 - ((8 + text.length) % 8)) % 8);
  const bytes = new Uint8Array(8 + padded.length + arrays.byteLength);
  bytes.set(new TextEncoder().encode("PWF1"));
  new DataView(bytes.buffer).setUint32(4, padded.length, true);
  bytes.set(new TextEncoder().encode(padded), 8);
  bytes.set(new Uint8Array(arrays), 8 + padded.length);
  return bytes.buffer;
}

export function standIn(): void {
  const kept = new Map<string, string>();
  vi.stubGlobal("localStorage", { getItem: (key: string) => kept.get(key) ?? null, setItem: (key: string, value: string) => kept.set(key, value) });
  vi.stubGlobal("WebSocket", FakeSocket);
  vi.stubGlobal("window", {
    // Looked up at each call, so that a test may put a clock of its own in their place.
    setTimeout: (action: () => void, wait: number) => globalThis.setTimeout(action, wait),
    clearTimeout: (timer: number) => globalThis.clearTimeout(timer),
    setInterval: () => 0,
    clearInterval: () => undefined,
    requestAnimationFrame: (draw: () => void) => draw(),
  });
}
