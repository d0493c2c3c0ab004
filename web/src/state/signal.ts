/** A value that tells when it changes; what is computed from it follows by itself. */

export interface Signal<T> {
  value: T;
  subscribe(listener: () => void): () => void;
}

export interface ReadonlySignal<T> {
  readonly value: T;
  subscribe(listener: () => void): () => void;
}

type Run = { rerun: () => void; drop: Set<() => void> };

let running: Run | null = null;
let batchDepth = 0;
const waiting = new Set<() => void>();

/** Hold a value; setting an identical one tells nobody. */
export function signal<T>(first: T): Signal<T> {
  const listeners = new Set<() => void>();
  let held = first;
  return {
    get value(): T {
      follow(listeners);
      return held;
    },
    set value(next: T) {
      if (Object.is(next, held)) return;
      held = next;
      for (const listener of [...listeners]) waiting.add(listener);
      if (batchDepth === 0) flush();
    },
    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

/** A value derived from other signals, worked out again when one of them changes. */
export function computed<T>(derive: () => T): ReadonlySignal<T> {
  const inner = signal<T>(undefined as T);
  effect(() => {
    inner.value = derive();
  });
  return inner;
}

/** Run now, and again whenever a signal that it read has changed; returns what stops it. */
export function effect(action: () => void): () => void {
  const run: Run = { rerun, drop: new Set() };
  function stop(): void {
    for (const drop of run.drop) drop();
    run.drop.clear();
    waiting.delete(rerun);
  }
  function rerun(): void {
    stop();
    const outer = running;
    running = run;
    try {
      action();
    } finally {
      running = outer;
    }
  }
  rerun();
  return stop;
}

/** Set several signals and tell of them once. */
export function batch(change: () => void): void {
  batchDepth += 1;
  try {
    change();
  } finally {
    batchDepth -= 1;
    if (batchDepth === 0) flush();
  }
}

/** Read signals without following them. */
export function untracked<T>(read: () => T): T {
  const outer = running;
  running = null;
  try {
    return read();
  } finally {
    running = outer;
  }
}

function follow(listeners: Set<() => void>): void {
  if (running === null) return;
  const { rerun, drop } = running;
  listeners.add(rerun);
  drop.add(() => listeners.delete(rerun));
}

function flush(): void {
  while (waiting.size > 0) {
    const [listener] = waiting;
    waiting.delete(listener as () => void);
    (listener as () => void)();
  }
}
