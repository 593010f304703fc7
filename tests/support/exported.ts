// What the packages export, by the compiler's own view: names, docstrings, tags, and the declarations of the build.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
// TypeScript's interface for programs is called unstable by its makers; the version is fixed in package.json.
import { API } from "typescript/unstable/sync";

export const HOUSE = join(import.meta.dirname, "../..");
export const ROOMS = readdirSync(join(HOUSE, "packages")).filter((name) => !name.startsWith("."));

export interface Exported {
  readonly name: string;
  readonly doc: string;
  readonly tags: readonly { readonly name: string; readonly text?: string | undefined }[];
  /** As the build declares it, without its own docstring. */
  readonly declaration: string;
  readonly kind: "function" | "class" | "type" | "value";
}

/** Sources of what a package's `exports` offers to programs, by the name that they import: `run`, `run/failures`. */
export const doorsOf = (room: string): [door: string, source: string][] => {
  const { exports } = JSON.parse(readFileSync(join(HOUSE, "packages", room, "package.json"), "utf8")) as {
    exports: Record<string, string | Record<string, string>>;
  };
  return Object.entries(exports).flatMap(([path, where]): [string, string][] =>
    typeof where === "object" && where["@kitforme/source"]
      ? [[join(room, path), join(HOUSE, "packages", room, where["@kitforme/source"])]]
      : [],
  );
};

/** All exported names of rooms by door, sorted; doors beside a room's main one as `room/door`. The rooms must have been built. */
export const exportedOf = (rooms: readonly string[]): Map<string, readonly Exported[]> => {
  const api = new API({ cwd: HOUSE });
  try {
    return new Map(
      rooms.flatMap(doorsOf).map(([door, source]) => {
        const config = join(HOUSE, "packages", door.split("/")[0] as string, "tsconfig.json");
        const project = api.updateSnapshot({ openProjects: [config] }).getProject(config);
        const file = project?.program.getSourceFile(source);
        const module = file && project?.checker.getSymbolAtLocation(file);
        if (!project || !module) throw new Error(`${door}: the compiler does not read ${source}`);
        const { checker } = project;
        const all = checker.getExportsOfModule(module).map((symbol): Exported => {
          const own = "aliased" in symbol || isAlias(symbol) ? checker.getAliasedSymbol(symbol) : symbol;
          const declaration = declarationOf(String(own.declarations?.[0]?.path), own.name);
          return {
            name: symbol.name,
            doc: checker.getDocumentationCommentOfSymbol(own).trim(),
            tags: checker.getJsDocTagsOfSymbol(own),
            declaration,
            kind: kindOf(declaration),
          };
        });
        return [door, all.sort((a, b) => (a.name < b.name ? -1 : 1))];
      }),
    );
  } finally {
    api.close();
  }
};

/** `SymbolFlags.Alias`. */
const isAlias = ({ flags }: { readonly flags: number }): boolean => (flags & (1 << 21)) !== 0;

const kindOf = (declaration: string): Exported["kind"] =>
  /^export (declare )?(abstract )?class/.test(declaration)
    ? "class"
    : /^export (declare )?(interface|type)/.test(declaration)
      ? "type"
      : /^export declare (function|const \w+: (<[^>]*>)?\()/.test(declaration)
        ? "function"
        : "value";

/** The lines of a declaration in the build: to the bracket or the semicolon that ends it. */
const declarationOf = (source: string, name: string): string => {
  const built = source.replace(/\/src\/(.*)\.ts$/, "/dist/$1.d.ts");
  const text = readFileSync(built, "utf8");
  const start = new RegExp(`^export (declare )?(abstract )?(const|function|class|interface|type) ${name}\\b`, "m").exec(
    text,
  );
  if (!start) throw new Error(`${built} does not declare ${name}`);
  const lines: string[] = [];
  let depth = 0;
  for (const line of text.slice(start.index).split("\n")) {
    lines.push(line);
    const bare = line.replace(/\/\*.*?\*\/|\/\/.*|"[^"]*"/g, "").replace(/^\s*(\/\*\*|\*).*/, "");
    depth += (bare.match(/[{([]/g) ?? []).length - (bare.match(/[})\]]/g) ?? []).length;
    if (depth === 0 && /[;}]$/.test(bare.trimEnd())) break;
  }
  return lines.join("\n");
};
