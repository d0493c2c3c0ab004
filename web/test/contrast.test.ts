import { expect, test } from "vitest";
import css from "../src/style/tokens.css?raw";

function tokens(selector: string): Record<string, string> {
  const block = css.split(selector)[1]?.split("}")[0] ?? "";
  return Object.fromEntries([...block.matchAll(/--([\w-]+): (#[0-9a-f]{6})/g)].map(([, name, hex]) => [name, hex]));
}

const day = tokens(":root {");
const looks = { day, night: { ...day, ...tokens('[data-look="night"] {') }, sun: { ...day, ...tokens('[data-look="sun"] {') } };

function luminance(hex: string): number {
  const [red = 0, green = 0, blue = 0] = [1, 3, 5].map((at) => {
    const share = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

/** Contrast of two colours by the WCAG formula. */
function contrast(one: string, other: string): number {
  const [light = 0, dark = 0] = [luminance(one), luminance(other)].sort((a, b) => b - a);
  return (light + 0.05) / (dark + 0.05);
}

/** Buried services, in the colours that are sprayed on the ground. */
const MARKS = ["electric", "gas", "communications", "water", "irrigation", "sewer"].map((service) => `mark-${service}`);

test.each(Object.entries(looks))("%s: text keeps 4.5 to 1 and lines 3 to 1 on paper", (look, palette) => {
  const text = look === "sun" ? 7 : 4.5;
  for (const paper of [palette["paper"], palette["paper-2"]] as string[]) {
    for (const name of ["ink", "muted", "good", "look", "stop"]) {
      expect([look, name, contrast(palette[name] as string, paper) >= text]).toEqual([look, name, true]);
    }
    for (const name of ["rule", "shore", "dig-3", "raise-3", "select", "contour", ...MARKS]) {
      expect([look, name, contrast(palette[name] as string, paper) >= 3]).toEqual([look, name, true]);
    }
  }
});
