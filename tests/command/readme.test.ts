// What the README promises a reader who types it in: its lines of library use run as they stand.
import { execFileSync } from "node:child_process";
import { copyFileSync, existsSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, it } from "vitest";
import { scratch } from "../support/command.ts";
import { smallShop } from "../support/small-shop.ts";

const house = join(import.meta.dirname, "../..");

it("the lines of library use make a job, in plain JavaScript", () => {
  const lines = /```ts\n(.*?)```/s.exec(readFileSync(join(house, "README.md"), "utf8"))?.[1] as string;
  const at = smallShop(scratch());
  copyFileSync(at.order("R-1", ["Solveig"]), join(at.root, "order.json"));
  symlinkSync(join(house, "node_modules"), join(at.root, "node_modules"));
  writeFileSync(join(at.root, "lines.mjs"), lines);
  const said = execFileSync(process.execPath, ["lines.mjs"], { cwd: at.root, encoding: "utf8" });
  expect(said.trim().split("\n").at(-1)).toBe("2 layouts in out/");
  expect(existsSync(join(at.out, "job.json"))).toBe(true);
});
