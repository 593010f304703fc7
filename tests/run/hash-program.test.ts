import { cpSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, it, onTestFinished } from "vitest";
import { hashCode } from "../../packages/run/src/hash-program.ts";

const scratch = (): string => {
  const folder = mkdtempSync(join(tmpdir(), "kitforme-program-"));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
};

/** A front package that leads to another by way of a third, as npm installs them. */
const program = (root: string): string => {
  const put = (name: string, dependencies: object) => {
    const folder = join(root, "node_modules/@kitforme", name);
    mkdirSync(join(folder, "dist/inner"), { recursive: true });
    const manifest = { name: `@kitforme/${name}`, type: "module", exports: { ".": { default: "./dist/index.js" } } };
    writeFileSync(join(folder, "package.json"), JSON.stringify({ ...manifest, dependencies }));
    writeFileSync(join(folder, "dist/index.js"), `export const name = "${name}";`);
    writeFileSync(join(folder, "dist/inner/more.js"), "export {};");
    writeFileSync(join(folder, "dist/index.d.ts"), "export {};");
    return join(folder, "dist");
  };
  put("bleed", {});
  put("prepress", { "@kitforme/bleed": "1", sharp: "1.0.0" });
  return put("run", { "@kitforme/prepress": "1" });
};

it("is that of the code, wherever it is installed: a byte of any package that is led to changes it, a declaration does not", () => {
  const root = scratch();
  const code = program(root);
  const before = hashCode(code);
  const packages = join(root, "node_modules/@kitforme");
  writeFileSync(join(packages, "bleed/dist/index.d.ts"), "export declare const name: string;");
  mkdirSync(join(packages, "other/dist"), { recursive: true });
  writeFileSync(join(packages, "other/dist/index.js"), "nobody leads here");
  expect(hashCode(code)).toBe(before);

  const copy = join(scratch(), "somewhere else");
  cpSync(root, copy, { recursive: true });
  expect(hashCode(join(copy, "node_modules/@kitforme/run/dist"))).toBe(before);
  // As in a workspace, where the packages are links.
  symlinkSync(join(packages, "run"), join(copy, "linked"));
  expect(hashCode(join(copy, "linked/dist"))).toBe(before);

  const seen = new Set([before]);
  for (const [file, text] of [
    ["bleed/dist/inner/more.js", "export  {};"],
    ["prepress/dist/index.js", 'export const name = "prepres5";'],
    ["run/dist/new.js", ""],
    [
      "prepress/package.json",
      '{"name":"@kitforme/prepress","exports":{".":{"default":"./dist/index.js"}},"dependencies":{"@kitforme/bleed":"1","sharp":"1.0.1"}}',
    ],
  ] as const) {
    writeFileSync(join(packages, file), text);
    seen.add(hashCode(code));
  }
  expect(seen.size).toBe(5);
});
