import { type FileKind, FILE_KINDS, schemaOf } from "./schema-of.ts";

interface Node {
  readonly title?: string;
  readonly description?: string;
  readonly type?: string;
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly default?: unknown;
  readonly examples?: readonly unknown[];
  readonly properties?: Readonly<Record<string, Node>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: Node | boolean;
  readonly items?: Node | boolean;
  readonly prefixItems?: readonly Node[];
  readonly anyOf?: readonly Node[];
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly minItems?: number;
  readonly maxItems?: number;
  readonly maxLength?: number;
}

/** One field of a file: its path, and what the schema says of it. */
export interface Field {
  readonly path: string;
  readonly required: boolean;
  readonly kind: string;
  readonly description: string;
  readonly fallback: string;
  readonly range: string;
  readonly example: string;
}

const code = (value: unknown): string => `\`${JSON.stringify(value)}\``;

/** An object whose keys are names of somebody's own. */
const recordOf = ({ properties, additionalProperties }: Node): Node | undefined =>
  !properties && typeof additionalProperties === "object" && Object.keys(additionalProperties).length > 0
    ? additionalProperties
    : undefined;

const kindOf = (node: Node): string => {
  if (node.anyOf) return [...new Set(node.anyOf.map(kindOf))].join(" or ");
  if (node.enum) return node.enum.map(code).join(" ");
  if (node.const !== undefined) return code(node.const);
  if (node.prefixItems) return `list of ${node.prefixItems.length} numbers`;
  if (node.type === "array") return typeof node.items === "object" ? `list: ${kindOf(node.items)}` : "list";
  if (node.type === "object") return recordOf(node) ? "names with objects" : "object";
  if (node.type === "integer") return "whole number";
  if (node.type === "string") return "text";
  return node.type ?? "any";
};

const rangeOf = (node: Node): string => {
  const inner = node.type === "array" && typeof node.items === "object" ? rangeOf(node.items) : "";
  const parts: string[] = [];
  if (node.exclusiveMinimum !== undefined) parts.push(`more than ${node.exclusiveMinimum}`);
  const open = (n: number | undefined): n is undefined => n === undefined || Math.abs(n) === Number.MAX_SAFE_INTEGER;
  if (!open(node.minimum)) parts.push(`from ${node.minimum}`);
  if (!open(node.maximum)) parts.push(`to ${node.maximum}`);
  if (node.maxLength !== undefined) parts.push(`up to ${node.maxLength} characters`);
  if (node.maxItems !== undefined && !node.prefixItems)
    parts.push(`${node.minItems ? `${node.minItems} to` : "up to"} ${node.maxItems} entries`);
  return [...parts, inner].filter((part) => part !== "").join(", ");
};

/** Every field of a file at every depth, in the order of the form. `<name>` stands for a name of somebody's own. */
export const fieldsOf = (file: FileKind): Field[] => {
  const fields: Field[] = [];
  const visit = (node: Node, path: string): void => {
    for (const branch of node.anyOf ?? []) visit(branch, path);
    if (typeof node.items === "object") visit(node.items, `${path}[]`);
    const record = recordOf(node);
    if (record) {
      const inner = `${path}${path === "" ? "" : "."}<name>`;
      if (record.properties || record.type === "object") fields.push(fieldOf(record, inner, false));
      visit(record, inner);
    }
    for (const [name, child] of Object.entries(node.properties ?? {})) {
      const inner = `${path}${path === "" ? "" : "."}${name}`;
      fields.push(fieldOf(child, inner, node.required?.includes(name) === true && child.default === undefined));
      visit(child, inner);
    }
  };
  visit(schemaOf(file) as Node, "");
  return fields;
};

const fieldOf = (node: Node, path: string, required: boolean): Field => ({
  path,
  required,
  kind: kindOf(node),
  description: node.description ?? "",
  fallback: node.default === undefined ? "" : code(node.default),
  range: rangeOf(node),
  example: (node.examples ?? []).map(code).join(" or "),
});

const cell = (text: string): string => text.replaceAll("|", "\\|").replace(/\s+/g, " ");

/** The reference of all files as Markdown, made from the schemas' own descriptions. */
export const formatsReference = (): string =>
  [
    "# The formats",
    "",
    "Made from the schemas by `npx tsx packages/kit/formats.ts`; a test fails when it is not as they are. The schemas themselves are in",
    "`schemas/`: name one in a file's `$schema`, and an editor completes and checks it.",
    "",
    ...GENERAL,
    ...FILE_KINDS.flatMap((file) => {
      const { title, description } = schemaOf(file) as Node;
      return [
        "",
        `## ${title ?? file}`,
        "",
        description ?? "",
        "",
        "| Field | What it is | Kind | Default | Range | Example |",
        "| --- | --- | --- | --- | --- | --- |",
        ...fieldsOf(file).map(({ path, required, kind, description: what, fallback, range, example }) => {
          const needed = required && file !== "job" ? "**needed**" : fallback;
          return `| ${[`\`${path}\``, what, kind, needed, range, example].map(cell).join(" | ")} |`;
        }),
      ];
    }),
    "",
  ].join("\n");

const GENERAL = [
  "## For all of them",
  "",
  "- **Lengths** are millimetres, angles degrees counter-clockwise, type sizes points. What a field counts in stands in brackets.",
  "- **Drawings** are measured from their top-left corner, y down, as in SVG; **sheets** from their lower-left corner, y up, as in PDF.",
  "- **Paths** in a kit are relative to the folder of its kit.json, with forward slashes, and never leave it.",
  "- **Check sums**: a kit may bring a file `SHA256SUMS` beside its kit.json, in the form of the program `sha256sum`; `kitforme seal` and the",
  "  kit's folder writes it. Every file of the kit that is read is then held against its sum: one that was damaged or changed is an error, one",
  "  without a sum a warning. The sum of a buyer's picture stands in the order.",
  '- **Names** become parts of file names: up to 60 characters, no `\\ / : * ? " < > |`, no invisible or control characters,',
  "  no dot or hyphen at the beginning, no space at either end.",
  "- **Fields that are not listed** are reported: `field-misspelt` with the nearest known name, else `field-unknown`. Nothing reads them.",
  "  A key that stands twice in one object is an error.",
  "- **A selector** is CSS. It may find one shape, several, or a group: then every shape in it is a line. What a selector of `lines` finds is",
  "  never printed, however it is painted. LibreOffice Draw gives shapes no names of the designer's and draws an invisible box around each:",
  "  there the colour of the stroke selects, as in `[stroke='rgb(255,0,0)']`.",
  "- **Grain** is the way the paper's fibres run. Paper folds better along them and bends less across. The stock says along which side of the",
  "  sheet it runs (`long`, `short`), the piece which way it must run in the drawing (`vertical`, `horizontal`); turns that would bring the",
  "  two apart are left out.",
  "- **A text stands** with its baseline a fixed way below the middle of its box, so that names with and without descenders align, and at the side",
  "  that `align` says. A line of an order **without `texts`** leaves its slots blank, but for slots that are `required`.",
  "- **How far things may be off**: `register` is the press's (print to sheet), `tolerance` the cutter's (cut to mark). The bleed must cover both.",
  "- **How near things may be**: `clearance` lies between the bleeds of two pieces on a sheet (`bareClearance` between the contours of pieces",
  "  that are not printed), `clear` around each mark, `safe` between a text and the nearest cut or crease, `least` says what the blade can leave.",
  "- **`caliper`** is the thickness of the stock. **`setup`** weighs one more sheet against one more layout: with 1 and 20 a plan uses up to",
  "  twenty sheets more before it makes another layout. **`share`** of `overs` is a share of the run, 0.02 for two in a hundred.",
  "- **`spread`** says how bleed is made: `nearest` repeats the colour at the cut, `soft` blurs it outwards.",
];
