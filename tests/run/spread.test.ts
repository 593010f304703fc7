// A job whose sheets others write as well: the same bytes whoever writes them, and nothing is taken that is not whole.
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { inMemory, partWriter, type Sharing } from "@kitforme/run";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
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

const make = async (sharing?: Sharing) => {
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
    { effort: "quick", threads: 1, lanes: 1, ...(sharing ? { sharing } : {}) },
  );
  if (!job) throw new Error(JSON.stringify(findings));
  return out.files;
};

/** Somebody who writes every sheet but the first that is asked for, and lays it as `lay` says. */
const helper = (lay: (folder: string, part: string) => void = () => undefined) => {
  const folder = join(mkdtempSync(join(tmpdir(), "kitforme-spread-")), "parts");
  const writer = partWriter();
  const [offered, mine]: [number[], number[]] = [[], []];
  const sharing: Sharing = {
    folder,
    wanted: () => Promise.resolve(true),
    offer: (sheets) => Promise.resolve(void offered.push(...sheets)),
    async take() {
      const sheet = offered.shift();
      if (sheet === undefined || mine.length === 0) {
        if (sheet !== undefined) mine.push(sheet);
        return { ...(sheet === undefined ? {} : { sheet }), written: [] };
      }
      await (await writer).write(folder, sheet, `part-${sheet}`);
      lay(folder, `part-${sheet}`);
      return { written: [{ sheet, part: `part-${sheet}` }] };
    },
  };
  return { sharing, folder, mine, done: () => rmSync(join(folder, ".."), { recursive: true }) };
};

beforeAll(async () => {
  photo = await sharp({ create: { width: 90, height: 60, channels: 3, background: "#c02020" } })
    .png()
    .toBuffer();
  alone = await make();
}, 180_000);

describe("sheets that others write", { timeout: 180_000 }, () => {
  it("have the same bytes, pictures, backs and manifest among them", async () => {
    const { sharing, folder, mine, done } = helper();
    expect(await make(sharing)).toEqual(alone);
    expect([...alone.keys()].filter((name) => name.endsWith(".proof.png")).length).toBeGreaterThan(5);
    // Both really wrote some; what is handed over are whole files.
    expect(mine.length).toBe(1);
    expect(readdirSync(folder).filter((name) => name.startsWith("part-")).length).toBeGreaterThan(1);
    expect(readdirSync(folder).filter((name) => name.endsWith(".part"))).toEqual([]);
    done();
  });

  it("are written again by the maker where a part is missing, cut short or damaged", async () => {
    let how = 0;
    const { sharing, done } = helper((folder, part) => {
      const file = join(folder, part);
      const bytes = readFileSync(file);
      how++;
      if (how === 1) rmSync(file);
      else if (how === 2) writeFileSync(file, bytes.subarray(0, bytes.length / 2));
      else writeFileSync(file, bytes.fill(7, bytes.length - 40, bytes.length - 20));
    });
    expect(await make(sharing)).toEqual(alone);
    expect(how).toBeGreaterThan(2);
    done();
  });
});
