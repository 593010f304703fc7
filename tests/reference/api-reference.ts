// The API reference of the packages, from their docstrings and the build's declarations.
// To write it anew, after `npm run build`: npm run docs
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { type Exported, exportedOf, HOUSE, ROOMS } from "../support/exported.ts";

/** Packages whose exports a version promises (README of `@kitforme/run`): those that others install for themselves. */
const PROMISED: readonly string[] = ["run", "bleed", "nest", "queue", "serve", "client"];

const promiseOf = (room: string): string =>
  PROMISED.includes(room)
    ? "A name that a package exports is public; whatever it does not export may change at any time."
    : "This package is a part of `@kitforme/run`, which is the door for programs: what it exports is there for the other packages, and may change with any minor version.";

const HEADS: readonly (readonly [Exported["kind"], string])[] = [
  ["function", "Functions"],
  ["class", "Classes"],
  ["value", "Values"],
  ["type", "Types"],
];

const code = (text: string): string => `\`\`\`ts\n${text}\n\`\`\``;

const entry = ({ name, doc, tags, declaration }: Exported): string => {
  const params = tags
    .filter((t) => t.name === "param")
    .map((t) => `- \`${(t.text ?? "").trim().replace(/^(\S+)\s*/, "$1` ")}`);
  const examples = tags.filter((t) => t.name === "example").map((t) => code((t.text ?? "").trim()));
  return [`### ${name}`, doc, code(declaration), ...(params.length > 0 ? [params.join("\n")] : []), ...examples].join(
    "\n\n",
  );
};

/** Markdown of one package, from what is exported at each of its doors. */
export const apiReference = (room: string, all: ReadonlyMap<string, readonly Exported[]>): string => {
  const exported = all.get(room) ?? [];
  const beside = [...all].filter(([door]) => door.startsWith(`${room}/`));
  return `${[
    `# API of @kitforme/${room}`,
    `Made from the docstrings by \`npm run docs\`. ${promiseOf(room)}`,
    ...HEADS.flatMap(([kind, head]) => {
      const some = exported.filter((e) => e.kind === kind);
      return some.length === 0 ? [] : [`## ${head}`, ...some.map(entry)];
    }),
    // What the main door offers too is described there.
    ...beside.flatMap(([door, names]) => [
      `## At \`@kitforme/${door}\``,
      ...names.map((e) => (exported.some(({ name }) => name === e.name) ? `\`${e.name}\`: as above.` : entry(e))),
    ]),
  ].join("\n\n")}\n`;
};

export const fileOf = (room: string): string => join(HOUSE, "packages", room, "API.md");

if (process.argv[1] === import.meta.filename) {
  const all = exportedOf(ROOMS);
  for (const room of ROOMS) writeFileSync(fileOf(room), apiReference(room, all));
}
