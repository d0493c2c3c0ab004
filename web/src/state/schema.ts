/** What a field of the document is called, in the words of its JSON Schema. */

import { ask } from "../api/rest";
import { type Signal, signal } from "./signal";

interface Node {
  readonly $ref?: string;
  readonly description?: string;
  readonly properties?: Readonly<Record<string, Node>>;
  readonly additionalProperties?: Node | boolean;
  readonly patternProperties?: Readonly<Record<string, Node>>;
  readonly items?: Node;
  readonly anyOf?: readonly Node[];
  readonly oneOf?: readonly Node[];
  readonly $defs?: Readonly<Record<string, Node>>;
}

const schema: Signal<Node | null> = signal<Node | null>(null);

/** Fetch the schema, unless it is there. */
export async function fetchSchema(): Promise<void> {
  if (schema.value !== null) return;
  try {
    schema.value = await ask<Node>("GET", "/schema.json");
  } catch {
    // Without the schema fields are called by their paths.
  }
}

/** Words for a dotted path: its rows by id, then what the schema says of the field. */
export function fieldWords(path: string): string {
  const root = schema.value;
  const names = path.split(".");
  const plain = names.filter((name) => name !== "*").map((name) => name.replaceAll("_", " ")).join(" › ");
  if (root === null) return plain;
  let here: readonly Node[] = [root];
  let words = "";
  for (const name of names) {
    const fields: readonly Node[] = here.flatMap((node) => inside(root, node, name));
    words = fields.find((field) => field.description)?.description ?? "";
    here = fields;
  }
  if (!words) return plain;
  const owner = names.slice(0, -1).filter((name) => name !== "*").map((name) => name.replaceAll("_", " "));
  return owner.length > 0 ? `${owner.join(" › ")}: ${lowerFirst(words)}` : words;
}

/** Fields or rows of a name inside a node, whichever of its forms has it. */
function inside(root: Node, node: Node, name: string): Node[] {
  const forms = [node, ...(node.anyOf ?? []), ...(node.oneOf ?? [])].map((form) => resolved(root, form));
  return forms.flatMap((form) => {
    const nested = [...(form.anyOf ?? []), ...(form.oneOf ?? [])].map((one) => resolved(root, one));
    return [form, ...nested].flatMap((one) => {
      const own = one.properties?.[name];
      if (own) return [own];
      const rows = [...Object.values(one.patternProperties ?? {}), ...(typeof one.additionalProperties === "object" ? [one.additionalProperties] : [])];
      return [...rows, ...(one.items ? [one.items] : [])];
    });
  });
}

function resolved(root: Node, node: Node): Node {
  const name = node.$ref?.split("/").at(-1);
  return name ? (root.$defs?.[name] ?? node) : node;
}

function lowerFirst(words: string): string {
  return words.charAt(0).toLowerCase() + words.slice(1);
}
