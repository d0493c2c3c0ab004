/** The shell: looks, language, and which screen is on the page. */

import "./style/fonts.css";
import "./style/tokens.css";
import "./style/base.css";
import "./style/panels.css";
import "./style/job.css";
import "./style/survey.css";
import "./style/visit.css";
import "./style/stone.css";
import { html } from "lit";
import { LANGUAGE, say } from "./format/words";
import { mountJob } from "./panels/job";
import { mountJobs } from "./panels/jobs";
import { type Dispose, mountView } from "./panels/view";
import { notice, spoken } from "./state/desk";
import { isTest } from "./state/hook";
import { followAddress, route } from "./state/route";
import type { Session } from "./state/session";
import { look } from "./state/settings";
import { computed, effect, untracked } from "./state/signal";

const NOTICE_MS = 12_000;

const app = document.querySelector<HTMLElement>("#app") as HTMLElement;

function begin(): void {
  document.documentElement.lang = LANGUAGE;
  effect(() => {
    document.documentElement.dataset["look"] = look.value;
  });
  app.innerHTML = `<div data-part="skip"></div><div data-part="page"></div><div data-part="notice"></div>`;
  const part = (name: string): HTMLElement => app.querySelector<HTMLElement>(`[data-part="${name}"]`) as HTMLElement;
  mountView(part("skip"), () => html`<button type="button" class="skip" @click=${() => document.querySelector<HTMLElement>("#work")?.focus()}>${say("app.skip")}</button>`);
  mountView(
    part("notice"),
    () => html`<div class="notice" role="status" aria-live="polite" data-testid="notice">
      <span class="hidden">${spoken.value}</span>
      ${notice.value ? html`<span class="says">${notice.value}</span><button type="button" @click=${() => (notice.value = "")}>${say("app.close")}</button>` : ""}
    </div>`,
  );
  fadeNotice();
  followAddress();
  mountPage(part("page"));
}

/** What was said goes by itself; it has been read aloud, and faults stand beside their boxes too. */
function fadeNotice(): void {
  let timer = 0;
  effect(() => {
    window.clearTimeout(timer);
    if (notice.value) timer = window.setTimeout(() => (notice.value = ""), NOTICE_MS);
  });
}

function mountPage(host: HTMLElement): void {
  let dispose: Dispose = () => {};
  // Going from one screen of a job to another keeps the job open.
  const jobId = computed(() => (route.value.at === "job" ? route.value.id : null));
  effect(() => {
    const id = jobId.value;
    untracked(() => {
      dispose();
      notice.value = "";
      spoken.value = "";
      if (id === null) {
        document.title = `${say("jobs.title")} · ${say("app.name")}`;
        dispose = mountJobs(host);
        return;
      }
      const job = mountJob(host, id);
      const stopTitle = effect(() => {
        document.title = `${job.session.job.value?.name ?? say("job.loading")} · ${say("app.name")}`;
      });
      if (isTest) openHook(job.session);
      dispose = () => {
        stopTitle();
        job.dispose();
      };
    });
  });
}

function openHook(session: Session): void {
  window.pondwright = {
    pixel: () => null,
    site: () => null,
    ...window.pondwright,
    job: () => session.shown.value,
    rev: () => session.rev.value,
    state: () => session.link.value,
    stats: () => ({ seq: session.frame.value?.header.seq ?? -1, lod: session.frame.value?.header.lod ?? -1, ...session.figures.value }),
  };
}

begin();
