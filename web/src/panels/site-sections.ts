/**
 * What stands in the Site room, in the order of the job: each is a line that opens a page of its own.
 *
 * To add a page: one row here with the words of its title, one short line of how far it has come, and
 * what mounts it; its words go into a words file of its own folder or block.  On a narrow window a page
 * takes the whole screen, and gives it back to the plan while the hand has a tool (`tool !== "select"`);
 * `pickPlace` of `state/pick.ts` lets a page ask for a place, with or without a direction.
 */

import type { Job } from "../api/types";
import type { Word } from "../format/words";
import { jobAddress } from "../state/route";
import type { Session } from "../state/session";
import { ballparkSays, mountBallpark } from "./ballpark";
import { booksSays } from "./book";
import { boundsSays, mountBounds } from "./bounds";
import { briefSays, mountBrief } from "./brief";
import { incomingSays, mountIncoming } from "./incoming";
import { locatingSays, mountLocating } from "./locating";
import { mountOldPond, oldPondSays } from "./old-pond";
import { which } from "./tables";
import { cardSays, mountCard } from "./visit";
import { mountPhotos, photosSays } from "./photos";
import type { Dispose } from "./view";
import { mountWalk, walkSays } from "./walk";

export interface SiteSection {
  readonly name: string;
  /** Heading under which it is listed. */
  readonly group: "site.firstVisit" | "site.ground";
  readonly title: Word;
  /** How far it has come, in one short line. */
  says(session: Session, job: Job): string;
  mount?(host: HTMLElement, session: Session): Dispose;
  /** What the line does instead of opening a page: it leads to another screen. */
  lead?(session: Session): void;
}

export const SITE_SECTIONS: readonly SiteSection[] = [
  { name: "card", group: "site.firstVisit", title: "visit.card", says: cardSays, mount: mountCard },
  { name: "brief", group: "site.firstVisit", title: "brief.title", says: briefSays, mount: mountBrief },
  { name: "walk", group: "site.firstVisit", title: "walk.title", says: walkSays, mount: mountWalk },
  { name: "photos", group: "site.firstVisit", title: "photos.title", says: photosSays, mount: mountPhotos },
  { name: "bounds", group: "site.firstVisit", title: "bounds.title", says: boundsSays, mount: mountBounds },
  { name: "ballpark", group: "site.firstVisit", title: "ballpark.title", says: ballparkSays, mount: mountBallpark },
  { name: "locate", group: "site.ground", title: "locate.title", says: locatingSays, mount: mountLocating },
  { name: "levels", group: "site.ground", title: "book.levels", says: booksSays, lead: openBooks },
  { name: "incoming", group: "site.ground", title: "incoming.title", says: incomingSays, mount: mountIncoming },
  { name: "old", group: "site.ground", title: "old.title", says: oldPondSays, mount: mountOldPond },
];

/** The field book is a table, and a table needs the whole screen. */
function openBooks(session: Session): void {
  which.value = "book";
  window.location.hash = jobAddress(session.id, "tables");
}

/** The page of a name; undefined when there is none. */
export function siteSection(name: string): SiteSection | undefined {
  return SITE_SECTIONS.find((one) => one.name === name);
}
