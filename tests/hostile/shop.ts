// A shop on the disk, a kit for each hostile file, and what a print run of them must hold to.
import { createHash } from "node:crypto";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Openers } from "@kitforme/run";
import { printRun } from "@kitforme/queue";
import { card, SHOP } from "../support/shelf.ts";
import type { Hostile } from "./corpus.ts";

const SLOT = { slot: "name", box: [6, 12, 48, 14], size: 12, leastSize: 6, colour: "#ffffff" };

const write = (folder: string, kit: string, { file, bytes, as }: Hostile): void => {
  mkdirSync(folder, { recursive: true });
  writeFileSync(join(folder, "good.svg"), card(60, 40));
  const piece = { stock: "card", lines: { cutting: "#cut" }, artwork: "#art", drawing: "good.svg" };
  const bad =
    as === "drawing"
      ? { drawing: file }
      : as === "artwork"
        ? { artwork: { file, box: [0, 0, 60, 40] } }
        : { slots: [{ ...SLOT, font: file }] };
  const form = {
    kit,
    pieces: [
      { ...piece, piece: "good" },
      { ...piece, piece: "bad", ...bad },
    ],
  };
  if (as === "kit") writeFileSync(join(folder, "kit.json"), Buffer.from(bytes).toString().replace("@KIT@", kit));
  else {
    writeFileSync(join(folder, "kit.json"), JSON.stringify(form));
    writeFileSync(join(folder, file), bytes);
  }
};

/** Every file under a folder with its hash. */
const all = (root: string, at = ""): string[] =>
  readdirSync(join(root, at), { withFileTypes: true }).flatMap((e) =>
    e.isDirectory()
      ? all(root, join(at, e.name))
      : [
          `${join(at, e.name)} ${createHash("sha256")
            .update(readFileSync(join(root, at, e.name)))
            .digest("hex")}`,
        ],
  );

export interface Fate {
  readonly name: string;
  readonly made: boolean;
  /** Rules of the errors about its kit. */
  readonly errors: readonly string[];
}

/** Makes an order of each; throws what the run throws, and when anything beside `out` was touched. */
export const fates = async (hostile: readonly Hostile[], openers: Openers): Promise<Fate[]> => {
  const root = mkdtempSync(join(tmpdir(), "kitforme-hostile-"));
  try {
    writeFileSync(join(root, "shop.json"), JSON.stringify(SHOP));
    for (const [i, one] of hostile.entries()) write(join(root, "kits", `k${i}`), `k${i}`, one);
    const before = all(root);
    const orders = hostile.map(({ as }, i) => {
      const line = { kit: `k${i}`, quantity: 1, ...(as === "font" ? { texts: [{ name: "Ada" }] } : {}) };
      const text = JSON.stringify({ order: `o${i}`, lines: [line] });
      return { name: `o${i}`, file: `o${i}.json`, text };
    });
    const { made, refused } = await printRun(
      { orders, shop: join(root, "shop.json"), kits: join(root, "kits"), out: join(root, "out"), effort: "quick" },
      { openers },
    );
    rmSync(join(root, "out"), { recursive: true, force: true });
    if (all(root).join("\n") !== before.join("\n")) throw new Error("something beside the job's folder was touched");
    return hostile.map(({ name }, i) => ({
      name,
      made: made?.orders.includes(`o${i}`) === true,
      errors: (refused.find(({ order }) => order === `o${i}`)?.findings ?? [])
        .filter(({ level }) => level === "error")
        .map(({ rule }) => rule),
    }));
  } finally {
    rmSync(root, { recursive: true, force: true });
  }
};
