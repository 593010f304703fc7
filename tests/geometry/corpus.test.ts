import { readFileSync, readdirSync } from "node:fs";
import { expect, it } from "vitest";
import { corpus, written } from "../support/contours.ts";

const folder = new URL("../../fixtures/contours/", import.meta.url);

it("every fixture is what its builder draws today", () => {
  const files = readdirSync(folder).filter((name) => name.endsWith(".json"));
  expect(files.sort()).toEqual(
    Object.keys(corpus())
      .map((name) => `${name}.json`)
      .sort(),
  );
  for (const [name, outlines] of Object.entries(corpus()))
    expect(readFileSync(new URL(`${name}.json`, folder), "utf8")).toBe(written(name, outlines));
});
