// "Your first kit in ten minutes", followed to the letter: its files typed, its commands run, its promises looked at.
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { expect, it } from "vitest";
import { kitforme, scratch } from "../support/command.ts";

const guide = readFileSync(join(import.meta.dirname, "../../packages/kit/FIRST-KIT.md"), "utf8");
/** Blocks of the guide in their order: what kind, for which file, and what is in them. */
const blocks = [...guide.matchAll(/```(\w+)(?: (\S+))?\n(.*?)```/gs)].map(([, kind, file, text]) => ({
  kind: kind as string,
  file,
  text: text as string,
}));

it("leads from an empty folder to a sheet, and its mistake is answered as it says", async () => {
  const root = scratch();
  const put = (file: string, text: string): void => {
    mkdirSync(dirname(join(root, file)), { recursive: true });
    writeFileSync(join(root, file), text);
  };
  const run = (line: string) =>
    kitforme(
      line
        .split(/\s+/)
        .slice(2)
        .map((word, i, words) =>
          i > 0 && !word.startsWith("--") && (words[i - 1]?.startsWith("--") || /[./]/.test(word) || word === "kits")
            ? join(root, word)
            : word,
        ),
    );
  const commands: string[] = [];
  for (const { kind, file, text } of blocks) {
    if (file) put(file, text);
    if (kind !== "sh") continue;
    for (const line of text.trim().split("\n")) {
      if (line.startsWith("mkdir -p ")) mkdirSync(join(root, line.slice(9)), { recursive: true });
      else {
        const ended = await run(line);
        expect(ended.code, `${line}\n${ended.out}${ended.err}`).toBe(0);
        // Nothing in the guide's own files is doubtful.
        expect(ended.out + ended.err).not.toMatch(/^(error|warning) /m);
        commands.push(line);
      }
    }
  }
  expect(commands).toHaveLength(2);
  const made = readdirSync(join(root, "out"));
  for (const [name] of guide.split("## 7.")[1]?.matchAll(/(?:sheet-001|job)\.[\w.]+\w/g) ?? [])
    expect(made).toContain(name);
  const job = JSON.parse(readFileSync(join(root, "out/job.json"), "utf8")) as {
    sheets: { placements: { texts: object }[] }[];
  };
  const names = job.sheets.flatMap((sheet) => sheet.placements.map(({ texts }) => texts));
  expect(names).toEqual(expect.arrayContaining([{ name: "Solveig" }, { name: "Aino" }, { name: "Łukasz" }]));

  const kit = blocks.find(({ file }) => file?.endsWith("kit.json"));
  put("kits/name-tag/kit.json", (kit?.text ?? "").replace('"piece": "tag",', '"piece": "tag", "perkit": 2,'));
  const answered = await run("npx kitforme check --shop shop.json kits/name-tag");
  expect(answered.out + answered.err).toContain(blocks.find(({ kind }) => kind === "text")?.text.trim());
});
