import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import sharp from "sharp";
import { numbersFrom } from "../../support/random.ts";

/** Places on a sheet of 320 x 450 mm: four across, five down. */
export const PLACES = 20;
/** The card, its picture with 3 mm of bleed all round, and pixels per inch of the picture. */
const [WIDE, HIGH, BLEED, RESOLUTION] = [66, 76, 3, 300];

const DRAWING = `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDE}mm" height="${HIGH}mm" viewBox="0 0 ${WIDE} ${HIGH}">
<path id="cut" d="M5 0H61A5 5 0 0 1 66 5V71A5 5 0 0 1 61 76H5A5 5 0 0 1 0 71V5A5 5 0 0 1 5 0ZM30 8A3 3 0 0 0 36 8A3 3 0 0 0 30 8Z" fill="none" stroke="#000"/>
<path id="crease" d="M0 40H66" fill="none" stroke="#000"/></svg>`;

const margins = { top: 5, right: 5, bottom: 8, left: 5 };
const SHOP = (proof: string): object => ({
  stocks: { card: { title: "Card", sheet: [320, 450], press: "digital", cutter: "flatbed" } },
  presses: { digital: { margins, resolution: RESOLUTION, bleed: BLEED, colour: "cmyk", register: 0.5 } },
  cutters: {
    flatbed: {
      formats: ["svg", "dxf", "hpgl", "pdf"],
      tolerance: 1,
      clearance: 1,
      margins: { ...margins, bottom: 5 },
      marks: { shape: "disc", size: 5, clear: 2 },
      tools: { cutting: { pen: 1 }, creasing: { pen: 2 } },
    },
  },
  setup: { sheetChange: 1, newLayout: 1 },
  proof,
});

/** A picture that packs like a photograph: soft colours with grain over them. */
const picture = async (seed: number): Promise<Uint8Array> => {
  const [width, height] = [WIDE, HIGH].map((mm) => Math.round(((mm + 2 * BLEED) * RESOLUTION) / 25.4)) as [
    number,
    number,
  ];
  const random = numbersFrom(seed);
  const pixels = new Uint8Array(width * height * 3);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++)
      for (let c = 0; c < 3; c++)
        pixels[(y * width + x) * 3 + c] = Math.round(
          168 + 50 * Math.sin(x / (90 + 40 * c) + y / (140 - 30 * c)) + 12 * (random() - 0.5),
        );
  return sharp(pixels, { raw: { width, height, channels: 3 } })
    .png()
    .toBuffer();
};

const [FIRST, LAST] = [
  "Aino Berit Cecil Dagny Elna Frida Greta Halvor Ivar Jorun Kari Liv Maren Nils Oda".split(" "),
  "Berg Dahl Eide Foss Haugen Lien Moen Nygard Ruud Sand Tveit Vik".split(" "),
];
/** The name of the n-th card; no two are alike. */
const nameOf = (n: number): string => `${FIRST[n % FIRST.length]} ${LAST[n % LAST.length]} ${n + 1}`;

/** Where the files of a job lie that were written for a run. */
export interface Written {
  readonly shop: string;
  readonly kits: string;
  readonly order: string;
}

/**
 * Writes a shop, a kit of one card and an order into a folder: so many sheets of 20 cards, each card with a name of its own,
 * picture at 300 ppi, all four kinds of cut files.
 *
 * @param proof of the shop: how far written files are tried
 */
export const personalJob = async (
  folder: string,
  { sheets, proof, seed, files = "single" }: { sheets: number; proof: string; seed: number; files?: string },
): Promise<Written> => {
  const kits = join(folder, "kits");
  await mkdir(join(kits, "card"), { recursive: true });
  const put = (name: string, content: object | string | Uint8Array): Promise<void> =>
    writeFile(
      join(folder, name),
      typeof content === "string" || content instanceof Uint8Array ? content : JSON.stringify(content),
    );
  await put("kits/card/card.svg", DRAWING);
  await put("kits/card/card.png", await picture(seed));
  await put("kits/card/kit.json", {
    kit: "card",
    title: "Name card",
    pieces: [
      {
        piece: "card",
        drawing: "card.svg",
        stock: "card",
        lines: { cutting: "#cut", creasing: "#crease" },
        artwork: { file: "card.png", box: [-BLEED, -BLEED, WIDE + 2 * BLEED, HIGH + 2 * BLEED] },
        slots: [
          { slot: "name", box: [6, 48, 54, 16], size: 20, leastSize: 8, align: "centre", colour: "#000000", safe: 2 },
        ],
      },
    ],
  });
  const shop = SHOP(proof) as { presses: { digital: object } };
  if (files !== "single") shop.presses.digital = { ...shop.presses.digital, files };
  await put("shop.json", shop);
  const texts = Array.from({ length: sheets * PLACES }, (_, n) => ({ name: nameOf(n) }));
  await put("order.json", { order: "P-1", lines: [{ kit: "card", quantity: texts.length, texts }] });
  return { shop: join(folder, "shop.json"), kits, order: join(folder, "order.json") };
};
