/** What holds while a box is empty, as the server's list of defaults says. */

import type { DefaultInUse } from "../api/types";
import { shown } from "../format/shown";
import type { Kind } from "../format/units";
import { say } from "../format/words";

export function stated(defaults: readonly DefaultInUse[], path: string, kind: Kind): string {
  const found = defaults.find((one) => one.path === path);
  return found ? `${shown(found.value, kind)} (${say("box.default")})` : "";
}
