/** Draw a template, and draw it again when a signal that it read has changed. */

import { type TemplateResult, html, nothing, render } from "lit";
import { say } from "../format/words";
import { type ReadonlySignal, effect, signal } from "../state/signal";

export type Dispose = () => void;

/** Keep a place on the page showing a template; returns what empties it again. */
export function mountView(host: HTMLElement, template: () => unknown): Dispose {
  let newest: unknown = nothing;
  let waiting = true;
  let gone = false;
  const paint = (): void => {
    waiting = false;
    if (!gone) render(newest, host);
  };
  const stop = effect(() => {
    newest = drawn(template);
    if (waiting) return;
    waiting = true;
    // Several signals may change in one go: they are drawn once.
    queueMicrotask(paint);
  });
  paint();
  return () => {
    gone = true;
    stop();
    render(nothing, host);
    forget(host);
  };
}

/** Let the place be emptied and filled by others: lit keeps its mark there, and would draw beside it again. */
function forget(host: HTMLElement): void {
  host.replaceChildren();
  delete (host as { _$litPart$?: unknown })._$litPart$;
}

function drawn(template: () => unknown): unknown {
  try {
    return template();
  } catch (fault) {
    // One broken panel must not take the others with it.
    console.error(fault);
    return html`<p class="fault">${say("app.broken", { why: (fault as Error).message })}</p>`;
  }
}

export interface Answer<T> {
  readonly value: T | null;
  readonly fault: string;
  readonly waiting: boolean;
}

export interface Fetched<T> {
  readonly answer: ReadonlySignal<Answer<T>>;
  again(): void;
  stop(): void;
}

/** What a request answers; asked again when a signal that the question read has changed. */
export function fetched<T>(question: () => Promise<T>): Fetched<T> {
  const answer = signal<Answer<T>>({ value: null, fault: "", waiting: true });
  const turn = signal(0);
  let newest = 0;
  const stop = effect(() => {
    void turn.value;
    newest += 1;
    const mine = newest;
    question().then(
      (value) => {
        if (mine === newest) answer.value = { value, fault: "", waiting: false };
      },
      (fault: Error) => {
        if (mine === newest) answer.value = { value: null, fault: fault.message, waiting: false };
      },
    );
  });
  return {
    answer,
    again: () => {
      turn.value = newest;
    },
    stop: () => {
      newest = -1;
      stop();
    },
  };
}

/** What stands while a request is under way, or why it failed. */
export function waitingOr<T>({ value, fault, waiting }: Answer<T>, show: (value: T) => unknown): unknown {
  if (value !== null) return show(value);
  if (fault) return html`<p class="fault" role="alert">${fault}</p>`;
  return waiting ? html`<p class="quiet">${say("app.wait")}</p>` : nothing;
}

export type Template = TemplateResult | typeof nothing;
