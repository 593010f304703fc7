// The language of the project: plain English of the trade. Words that newcomers had to ask about are not used in docs, comments
// and messages; the list grows when another one is found.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { expect, it } from "vitest";

/** What is not written, and what is written instead. */
const INSTEAD: readonly (readonly [pattern: RegExp, instead: string])[] = [
  [/\b(un)?lawful(ly)?\b/i, "valid"],
  [/\bthe weather\b|\bis weather\b|\bbad weather\b/i, "environment fault"],
  [/\brastered\b/i, "rasterised"],
  [/\b(what )?can hurt\b/i, "safety"],
  [/\bis dear\b|\bdear,|\bdearer\b/i, "expensive"],
  [/\bthis house\b/i, "kitforme, or the package's name: a house is the print shop"],
  [/^(<{7}|>{7}) /, "one version: this is a conflict that nobody has settled"],
];

const files = execFileSync("git", ["ls-files", "*.ts", "*.mjs", "*.md", "*.yml", "*.json"], { encoding: "utf8" })
  .split("\n")
  .filter((file) => file && !/^fixtures\/data|package-lock|^tests\/words\.test\.ts$/.test(file));

it("docs, comments and messages use words that need no asking", () => {
  const found = files.flatMap((file) =>
    readFileSync(file, "utf8")
      .split("\n")
      .flatMap((line, i) =>
        INSTEAD.filter(([pattern]) => pattern.test(line)).map(
          ([, instead]) => `${file}:${i + 1}: write "${instead}": ${line.trim().slice(0, 100)}`,
        ),
      ),
  );
  expect(found).toEqual([]);
});

it.each(["bleed", "nest"])("kernel %s knows no paper, no press and no orders, by its words either", (room) => {
  const trade = /\b(papers?|print\w*|inks?|inked|press|cards?|kits?|artwork|designers?|dockets?|cutters?|grain)\b/;
  const sources = files.filter((file) => file.startsWith(`packages/${room}/`) && file.endsWith(".ts"));
  expect(sources.length).toBeGreaterThan(10);
  const found = sources.flatMap((file) =>
    readFileSync(file, "utf8")
      .split("\n")
      .flatMap((line, i) => (trade.test(line) ? [`${file}:${i + 1}: ${line.trim().slice(0, 100)}`] : [])),
  );
  expect(found).toEqual([]);
});
