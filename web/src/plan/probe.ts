/** What browser tests and the bench may ask of the plan; only when the page was opened with `?test`. */

import type OlMap from "ol/Map";
import type { ScreenPoint, SitePoint } from "../geometry/types";
import type { Session } from "../state/session";
import { effect } from "../state/signal";
import { onDrawn } from "./redraw";
import { pegPoint, replaceRing, ringsOf, withPegAt } from "./rings";

export interface BenchResult {
  readonly replies_per_second: number;
  /** From sending a preview to the arrival of its answer. */
  readonly reply_p50_ms: number;
  readonly paint_p50_ms: number;
  readonly paint_p95_ms: number;
  readonly frames_per_second: number;
}

const CIRCLE = 0.4; // metres
const TURNS_PER_SECOND = 0.5;

/** Put the plan's answers on the page's test hook. */
export function openProbe(map: OlMap, session: Session): void {
  const hook = window.pondwright;
  if (!hook) return;
  const box = (): DOMRect => (map.getTargetElement() as HTMLElement).getBoundingClientRect();
  Object.assign(hook, {
    pixel: ([east, north]: SitePoint): ScreenPoint | null => {
      const pixel = map.getPixelFromCoordinate([east, north]);
      return pixel ? [(pixel[0] as number) + box().left, (pixel[1] as number) + box().top] : null;
    },
    site: ([x, y]: ScreenPoint): SitePoint | null => {
      const place = map.getCoordinateFromPixel([x - box().left, y - box().top]);
      return place ? [place[0] as number, place[1] as number] : null;
    },
    bench: (seconds: number) => bench(session, seconds),
  });
}

/** Move one peg on a small circle, a step each frame of the screen, and time the answers. */
async function bench(session: Session, seconds: number): Promise<BenchResult> {
  const job = session.job.value;
  const ring = job && ringsOf(job)[0];
  const peg = ring?.curve.pegs[0];
  if (!ring || !peg) throw new Error("there is no peg to move");
  const [east, north] = pegPoint(peg);
  const sent = new Map<number, number>();
  const answers: number[] = [];
  const paints: number[] = [];
  const restore = timeLiveMessages(sent);
  let drawn: number | null = null;
  let replies = 0;
  let frames = 0;
  const stopFrames = effect(() => {
    const seq = session.frame.value?.header.seq;
    drawn = seq ?? null;
    const at = seq === undefined ? undefined : sent.get(seq);
    if (at === undefined) return;
    replies += 1;
    answers.push(performance.now() - at);
  });
  const stopDrawn = onDrawn(() => {
    const at = drawn === null ? undefined : sent.get(drawn);
    if (at === undefined || drawn === null) return;
    sent.delete(drawn);
    requestAnimationFrame((now) => paints.push(now - at));
  });
  const start = performance.now();
  await new Promise<void>((done) => {
    const step = (now: number): void => {
      frames += 1;
      const share = (now - start) / 1000;
      if (share >= seconds) return done();
      const angle = 2 * Math.PI * TURNS_PER_SECOND * share;
      session.drag([replaceRing(ring, withPegAt(ring.curve, peg.id, [east + CIRCLE * Math.sin(angle), north + CIRCLE * (1 - Math.cos(angle))]))]);
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  });
  stopFrames();
  stopDrawn();
  restore();
  session.cancel();
  return {
    replies_per_second: replies / seconds,
    reply_p50_ms: quantile(answers, 0.5),
    paint_p50_ms: quantile(paints, 0.5),
    paint_p95_ms: quantile(paints, 0.95),
    frames_per_second: frames / seconds,
  };
}

function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((one, other) => one - other);
  return sorted[Math.floor(share * (sorted.length - 1))] ?? Number.NaN;
}

/** Note when each preview leaves the page; returns what stops it. */
function timeLiveMessages(sent: Map<number, number>): () => void {
  const own = WebSocket.prototype.send;
  WebSocket.prototype.send = function send(this: WebSocket, data: Parameters<typeof own>[0]): void {
    if (typeof data === "string" && data.startsWith('{"type":"live"')) {
      sent.set((JSON.parse(data) as { seq: number }).seq, performance.now());
    }
    own.call(this, data);
  };
  return () => {
    WebSocket.prototype.send = own;
  };
}
