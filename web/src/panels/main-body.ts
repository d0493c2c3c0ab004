/** The body that the job is about: the one kept balanced, or the largest pond, before the pools and the stream that serve it. */
export function mainBody(
  bodies: Readonly<Record<string, { readonly role?: string; readonly keep_balanced?: boolean }>>,
  areaOf: (name: string) => number,
): string | null {
  const names = Object.keys(bodies);
  const ponds = names.filter((name) => (bodies[name]?.role ?? "pond") === "pond");
  const largest = ponds.reduce<string | null>((best, name) => (best === null || areaOf(name) > areaOf(best) ? name : best), null);
  return names.find((name) => bodies[name]?.keep_balanced) ?? largest ?? names[0] ?? null;
}
