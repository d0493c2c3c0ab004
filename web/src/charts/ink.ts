/** Colours for canvases, read from the tokens of the page: a canvas does not follow a change of look by itself. */

const NAMES = [
  "paper", "paper-2", "ink", "muted", "rule", "hair", "water", "shore", "contour", "dig-1", "dig-2", "dig-3",
  "raise-1", "raise-2", "raise-3",
] as const;

export type InkName = (typeof NAMES)[number];
export type Ink = Readonly<Record<InkName, string>>;

/** The colours as they are now. */
export function inkOf(element: Element): Ink {
  const style = getComputedStyle(element);
  return Object.fromEntries(NAMES.map((name) => [name, style.getPropertyValue(`--${name}`).trim() || "#808080"])) as Ink;
}
