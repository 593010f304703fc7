// A job whose pieces, layouts and sheets others do as well: the same bytes whoever does them, and nothing is taken that is not whole.
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { FolderCache, inMemory, Openers, partWriter, type SharedStage, type Sharing } from "@kitforme/run";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { run } from "../support/openers.ts";
import { svgMm } from "../support/kits.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const shop = named("shop.json", {
  ...SHOP,
  presses: { digital: { ...SHOP.presses.digital, resolution: 72, sides: 2 } },
});
// One of them a sheet; a picture of the buyer's and a name in front, a back with the name.
const SVG = svgMm(
  150,
  180,
  `<path id="cut" d="M0 0H150V150L120 180H0Z"/><g id="art"><rect width="150" height="180" fill="#e8d8a0"/></g>
   <g id="behind"><rect width="150" height="180" fill="#304080"/></g>`,
);
const NAME = { slot: "name", box: [20, 10, 100, 20], size: 24, leastSize: 8, colour: "#000000", safe: 2 };
const kit = {
  kit: "tag",
  pieces: [
    pieceForm("tag", {
      slots: [NAME, { slot: "photo", picture: true, box: [20, 60, 60, 40], least: 10 }],
      back: { artwork: "#behind", slots: [NAME] },
    }),
    pieceForm("insert", { stock: "board", artwork: null }),
  ],
};
const files = { "kit.json": kit, "tag.svg": SVG, "insert.svg": card(50, 30) };

let photo: Uint8Array;
let alone: ReadonlyMap<string, Uint8Array>;

/** The helper's processes, and the cache that it and the maker have in common. */
const cacheFolder = mkdtempSync(join(tmpdir(), "kitforme-spread-cache-"));
const cache = () => new FolderCache(cacheFolder, 2 ** 28);
const helpers = new Openers({}, cache());
afterAll(async () => {
  await helpers.close();
  rmSync(cacheFolder, { recursive: true });
});

const make = async (sharing?: Sharing, openers?: Openers) => {
  const out = inMemory();
  const names = ["Solveig", "Aino", "Kåfjord"];
  const texts = names.map((name) => ({ name, photo: { file: "p.png" } }));
  const order = {
    ...named("o.json", { order: "S-1", lines: [{ kit: "tag", quantity: 3, texts }] }),
    read: (path: string) => Promise.resolve(path === "p.png" ? photo : undefined),
  };
  const { job, findings } = await run(
    { shop, orders: [order] },
    { kits: shelf({ tag: files }), out: () => out },
    { effort: "quick", threads: 1, lanes: 1, ...(sharing ? { sharing } : {}), ...(openers ? { openers } : {}) },
  );
  if (!job) throw new Error(JSON.stringify(findings));
  return out.files;
};

/** Somebody who does every part but the first of each stage that has several, and lays it as `lay` says. */
const helper = (lay: (folder: string, part: string) => void = () => undefined, turn = 0) => {
  const folder = join(mkdtempSync(join(tmpdir(), "kitforme-spread-")), "parts");
  const writer = partWriter(helpers);
  const [mine, others]: [string[], string[]] = [[], []];
  let now: SharedStage = "piece";
  let offered: number[] = [];
  let first = false;
  const sharing: Sharing = {
    folder,
    turn,
    wanted: () => Promise.resolve(true),
    offer(stage, numbers) {
      [now, offered, first] = [stage, [...numbers], numbers.length > 1];
      return Promise.resolve();
    },
    async take() {
      const number = offered.shift();
      if (number === undefined || first) {
        if (number !== undefined) mine.push(`${now}-${number}`);
        first = false;
        return { ...(number === undefined ? {} : { number }), done: [] };
      }
      const part = `part-${now}-${number}`;
      others.push(part.slice(5));
      await (await writer).write(folder, now, number, part);
      lay(folder, part);
      return { done: [{ number, part }] };
    },
  };
  return { sharing, folder, mine, others, done: () => rmSync(join(folder, ".."), { recursive: true }) };
};

beforeAll(async () => {
  photo = await sharp({ create: { width: 90, height: 60, channels: 3, background: "#c02020" } })
    .png()
    .toBuffer();
  alone = await make();
}, 180_000);

describe("parts that others do", { timeout: 180_000 }, () => {
  it("have the same bytes, pictures, backs and manifest among them", async () => {
    const { sharing, folder, mine, others, done } = helper();
    expect(await make(sharing)).toEqual(alone);
    expect([...alone.keys()].filter((name) => name.endsWith(".proof.png")).length).toBeGreaterThan(5);
    // Both really did some of them: the one piece with artwork, a layout each, sheets. What is handed over are whole files.
    expect(mine).toEqual(["layout-0", "sheet-1"]);
    expect(others).toEqual(expect.arrayContaining(["piece-1", "layout-1", "sheet-2", "sheet-3"]));
    expect(readdirSync(folder).filter((name) => name.startsWith("part-")).length).toBe(others.length);
    expect(readdirSync(folder).filter((name) => name.endsWith(".part"))).toEqual([]);
    done();
  });

  it("are pieces that the next job finds in the cache, and then nobody is offered them", async () => {
    const kept = cache();
    const openers = new Openers({}, kept);
    const { sharing, mine, others, done } = helper(undefined, 1);
    try {
      expect(await make(sharing, openers)).toEqual(alone);
    } finally {
      await openers.close();
    }
    // Both faces, under the key that the helper gave them from what it was handed.
    expect([kept.hits, kept.misses]).toEqual([2, 0]);
    expect([...mine, ...others].filter((part) => part.startsWith("piece"))).toEqual([]);
    done();
  });

  it("are done again by the maker where a part is missing, cut short or damaged", async () => {
    let how = 0;
    const { sharing, done } = helper((folder, part) => {
      const file = join(folder, part);
      const bytes = readFileSync(file);
      how++;
      if (how % 3 === 1) rmSync(file);
      else if (how % 3 === 2) writeFileSync(file, bytes.subarray(0, bytes.length / 2));
      else writeFileSync(file, bytes.fill(7, bytes.length - 40, bytes.length - 20));
    });
    expect(await make(sharing)).toEqual(alone);
    expect(how).toBeGreaterThan(4);
    done();
  });
});
