/** Days and times in words. */

import { LANGUAGE } from "./words";

const MINUTE = 60;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const WEEK = 7 * DAY;

/** How long ago a time (seconds since 1970) was; beyond a week, its day. */
export function ago(time: number, now = Date.now() / 1000): string {
  const words = new Intl.RelativeTimeFormat(LANGUAGE, { numeric: "auto" });
  const past = Math.max(0, now - time);
  if (past < MINUTE) return words.format(0, "minute").replace("this minute", "just now");
  if (past < HOUR) return words.format(-Math.round(past / MINUTE), "minute");
  if (past < DAY) return words.format(-Math.round(past / HOUR), "hour");
  if (past < WEEK) return words.format(-Math.round(past / DAY), "day");
  return new Date(time * 1000).toLocaleDateString(LANGUAGE, { day: "numeric", month: "short", year: "numeric" });
}

/** A day such as `2027-03-31` in words; the text itself when it is no day. */
export function day(text: string): string {
  const [year = Number.NaN, month = Number.NaN, date = Number.NaN] = text.split("-").map(Number);
  const found = new Date(year, month - 1, date);
  return Number.isNaN(found.getTime()) ? text : found.toLocaleDateString(LANGUAGE, { day: "numeric", month: "short", year: "numeric" });
}

/** A moment in words: its day and the time of day where the browser stands. */
export function moment(text: string): string {
  const found = new Date(text);
  if (Number.isNaN(found.getTime())) return text;
  return found.toLocaleString(LANGUAGE, { day: "numeric", month: "short", year: "numeric", hour: "numeric", minute: "2-digit" });
}
