/** Parts of the plan screen that come in a chunk of their own; until one is there its name stands in its place. */

import { sentenceOf } from "../api/rest";
import { say } from "../format/words";
import type { Session } from "../state/session";
import type { Dispose } from "./view";

export type Mount = (host: HTMLElement, session: Session) => Dispose;

// A glob of one file gives nothing, rather than a broken build, while that file is not there.
const FILES = import.meta.glob<Readonly<Record<string, unknown>>>([
  "../plan/mount.ts",
  "../strip/mount.ts",
  "../section/mount.ts",
  "../charts/storage.ts",
  "../section/drain.ts",
  "../three/mount.ts",
]);

const PARTS = {
  plan: ["../plan/mount.ts", "mountPlan"],
  strip: ["../strip/mount.ts", "mountStrip"],
  section: ["../section/mount.ts", "mountSection"],
  storage: ["../charts/storage.ts", "mountStorageChart"],
  drain: ["../section/drain.ts", "mountDrainProfile"],
  three: ["../three/mount.ts", "mountThree"],
} as const;

export type PartName = keyof typeof PARTS;

/** Load a part and mount it; what comes back disposes of it, also when it is still on its way. */
export function mountPart(host: HTMLElement, session: Session, name: PartName, title: string): Dispose {
  const [file, exported] = PARTS[name];
  let dispose: Dispose = () => {};
  let gone = false;
  const tell = (words: string): void => {
    const paragraph = document.createElement("p");
    paragraph.className = "coming";
    paragraph.textContent = words;
    host.replaceChildren(paragraph);
  };
  const load = FILES[file];
  tell(load ? say("app.wait") : say("app.coming", { name: title }));
  load?.().then(
    (part) => {
      if (gone) return;
      host.replaceChildren();
      try {
        dispose = (part[exported] as Mount)(host, session);
      } catch (fault) {
        console.error(fault);
        tell(say("app.broken", { why: sentenceOf(fault) }));
      }
    },
    (fault: unknown) => tell(say("app.broken", { why: sentenceOf(fault) })),
  );
  return () => {
    gone = true;
    dispose();
    host.replaceChildren();
  };
}
