// Drawn bleed of another colour than at the cut: found in every form artwork comes in, with its length, and nothing else is. That a
// line of another colour shows when the cut is off is common practice, no source; the lengths are those that the test draws.
import type { Contour } from "@kitforme/geometry";
import type { Artwork, Finding, Piece, Press } from "@kitforme/kit";
import { prepare } from "@kitforme/prepress";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { drawing, file, page, piece, press, PT, square } from "../artwork-samples.ts";

const AROUND = { x: -3000, y: -3000, width: 26_000, height: 26_000 };
const SQUARE = square(0, 0, 20);
/** A circle about the middle of the card; the other way round it is an opening. */
const circle = (radius: number): Contour<"drawing"> =>
  Array.from({ length: 120 }, (_, i) => ({
    x: Math.round(10_000 + 1000 * radius * Math.cos((i * Math.PI) / 60)),
    y: Math.round(10_000 + 1000 * radius * Math.sin((i * Math.PI) / 60)),
  }));
const DISC: Partial<Piece> = { parts: [{ outer: circle(9), openings: [] }] };
const WINDOW: Partial<Piece> = { parts: [{ outer: SQUARE, openings: [[...circle(5)].reverse()] }] };

const rect = (x: number, y: number, width: number, height: number, fill: string): string =>
  `<rect x="${x}" y="${y}" width="${width}" height="${height}" fill="${fill}"/>`;
const RED = rect(-3, -3, 26, 26, "#c33");
const CARD = rect(0, 0, 20, 20, "#c33");
/** Two neighbours, so that neither is the background of most of what lies around. */
const TWO = rect(-3, -3, 13, 26, "#999") + rect(10, -3, 13, 26, "#3a7");
const fade = (from: string, to: string, y1: number, y2: number): string =>
  `<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="0" y1="${y1}" x2="0" y2="${y2}"><stop offset="0" stop-color="${from}"/><stop offset="1" stop-color="${to}"/></linearGradient>${rect(-3, -3, 26, 26, "url(#g)")}`;
/** The same noise every time: levels of grey, 26 mm wide at ten pixels a millimetre, in blocks of so many. */
const noise = (block: number): string => {
  let state = 7;
  const random = (): number => (state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0) / 2 ** 32;
  const side = 26 / (260 / block);
  return Array.from({ length: 260 / block }, (_, y) =>
    Array.from({ length: 260 / block }, (_1, x) => {
      const level = Math.floor(random() * 256);
      return rect(x * side - 3, y * side - 3, side, side, `rgb(${level},${level},${level})`);
    }).join(""),
  ).join("");
};

const pixels = (body: string, side = 260): ReturnType<typeof sharp> =>
  sharp(
    Buffer.from(
      `<svg xmlns="http://www.w3.org/2000/svg" width="${side}" height="${side}" viewBox="-3 -3 26 26" shape-rendering="geometricPrecision">${body}</svg>`,
    ),
  ).removeAlpha();
const fill = (inks: string, x: number, y: number, width: number, height: number): string =>
  `${inks} k ${PT(x)} ${PT(20 - y - height)} ${PT(width)} ${PT(height)} re f`;
const BOXES = {
  MediaBox: [-3, -3, 23, 23].map(PT),
  BleedBox: [-3, -3, 23, 23].map(PT),
  TrimBox: [0, 0, 20, 20].map(PT),
};

const look = async (artwork: Artwork, more: Partial<Piece> = {}, on: Press = press()): Promise<Finding[]> => {
  const { value, findings } = await prepare(piece(artwork, more), on, { vectors: false, twice: false });
  if (!value) throw new Error(JSON.stringify(findings));
  return findings.filter(({ rule }) => rule === "bleed-other-colour");
};
/** Millimetres along the cut that a finding names. */
const alongOf = ([finding]: readonly Finding[]): number =>
  Number(/along ([\d.]+) of/.exec(finding?.message ?? "")?.[1]);

const FORMS: Readonly<Record<string, (body: string) => Promise<Artwork>>> = {
  "a drawing": (body) => Promise.resolve(drawing(body)),
  "a PNG": async (body) => file("png", await pixels(body).png().toBuffer(), AROUND),
  "a PNG with alpha": async (body) => file("png", await pixels(body).ensureAlpha(0.99).png().toBuffer(), AROUND),
  "a JPEG": async (body) => file("jpeg", await pixels(body).jpeg({ quality: 80 }).toBuffer(), AROUND),
  "a coarse JPEG": async (body) => file("jpeg", await pixels(body, 156).jpeg({ quality: 85 }).toBuffer(), AROUND),
  "a TIFF in inks": async (body) =>
    file("tiff", await pixels(body).toColourspace("cmyk").tiff({ compression: "deflate" }).toBuffer(), AROUND),
};

describe.each(Object.entries(FORMS))("%s", (_, form) => {
  it("clipped at a straight cut over what lies beside it", async () => {
    const found = await look(await form(TWO + CARD));
    expect(found).toMatchObject([{ level: "warning", where: { piece: "piece", file: expect.any(String) } }]);
    expect(alongOf(found)).toBeGreaterThan(76);
    expect(alongOf(found)).toBeLessThanOrEqual(80);
  });

  it("clipped at a round cut", async () => {
    const found = alongOf(await look(await form(`${TWO}<circle cx="10" cy="10" r="9" fill="#c33"/>`), DISC));
    expect(found).toBeGreaterThan(53);
    expect(found).toBeLessThanOrEqual(57);
  });

  it("in an opening alone", async () => {
    const found = alongOf(await look(await form(`${RED}<circle cx="10" cy="10" r="5" fill="#6cf"/>`), WINDOW));
    expect(found).toBeGreaterThan(29);
    expect(found).toBeLessThan(32);
  });

  it("drawn on beyond the cut, nothing", async () => {
    expect(await look(await form(RED), WINDOW)).toEqual([]);
    expect(await look(await form(TWO), DISC)).toEqual([]);
  });
});

describe("a page", () => {
  const pageOf = async (...fills: string[]): Promise<Artwork> => file("pdf", await page(fills.join(" "), {}, BOXES));

  it("clipped at its trim over grey, or over painted white, which its bleed box says is bleed", async () => {
    for (const [inks, name] of [
      ["0 0 0 .4", "C0 M0 Y0 K40"],
      ["0 0 0 0", "white"],
    ] as const) {
      const found = await look(await pageOf(fill(inks, -3, -3, 26, 26), fill("0 .9 .8 0", 0, 0, 20, 20)));
      expect(alongOf(found)).toBe(80);
      expect(found[0]?.message).toContain(`C0 M90 Y80 K0 inside, ${name} from right at the cut on`);
    }
  });

  it("a neighbour on one side: its length and a place in its middle", async () => {
    const found = await look(await pageOf(fill("0 .9 .8 0", -3, -3, 23, 26), fill("1 0 0 0", 20, -3, 3, 26)));
    expect(alongOf(found)).toBe(20);
    const [x, y] = found[0]?.where.at ?? [0, 0];
    expect(x).toBe(20);
    expect(Math.abs(y - 10)).toBeLessThan(1);
  });

  it("that brings nothing there has its bleed made, and all is of one colour", async () => {
    expect(await look(await pageOf(fill("0 .9 .8 0", 0, 0, 20, 20)))).toEqual([]);
    expect(await look(await pageOf(fill("0 .9 .8 0", -3, -3, 26, 26)))).toEqual([]);
  });
});

describe("where", () => {
  it("says once how much and where, the longest stretch first", async () => {
    const art = RED + rect(20, -3, 3, 26, "#36c") + rect(2, -3, 13, 3, "#3a7");
    const [finding] = await look(drawing(art), {}, press("rgb"));
    expect(finding?.message).toMatch(
      /along 3[23] of 80 mm of the cut, in 2 stretches: #cc3333 inside, #3366cc from right at the cut on/,
    );
    expect(finding?.places?.map(({ at }) => at?.map(Math.round))).toEqual([
      [20, 10],
      [9, 0],
    ]);
    expect(finding?.hint).toContain("2 mm beyond the cut");
  });

  it("says so of a change a little beside the cut, when it follows a whole side", async () => {
    const beside = (off: number, long = 26): Promise<Finding[]> =>
      look(drawing(RED + rect(20 + off, 10 - long / 2, 3, long, "#36c")));
    expect((await beside(0.2))[0]?.message).toMatch(/from 0\.[123] mm beyond the cut on/);
    expect((await beside(-0.2))[0]?.message).toMatch(/from 0\.[123] mm inside the cut on/);
    expect((await beside(0.5))[0]?.message).toMatch(
      /from 0\.[456] mm beyond the cut on; a cut that is off by more than that/,
    );
    expect(await beside(0.2, 12)).toEqual([]);
    expect(await beside(0.8)).toEqual([]);
  });

  it("says so of artwork that lies half a millimetre off, over grey", async () => {
    for (const form of [FORMS["a drawing"], FORMS["a JPEG"]]) {
      const art = (await form?.(rect(-3, -3, 26, 26, "#999") + rect(0.5, 0.5, 20, 20, "#c33"))) as Artwork;
      expect((await look(art))[0]?.message).toMatch(/along (?:39|40) of 80 mm .* from 0\.[456] mm beyond the cut on/);
    }
  });

  it("says so of the back, as seen from the front", async () => {
    const back = { artwork: drawing(RED + rect(20, -3, 3, 26, "#36c")), mirror: 20_000 };
    const [finding] = await look(drawing(RED), { back });
    expect(finding?.where).toMatchObject({ side: "back" });
    expect(Math.round(finding?.where.at?.[0] ?? -1)).toBe(0);
  });
});

describe("passes over", () => {
  const slanting = (degrees: number): string =>
    `${RED}<g transform="rotate(${degrees} 10 20)">${rect(-20, 20, 60, 20, "#36c")}</g>`;
  const lines = `<g transform="rotate(30 10 10)">${Array.from({ length: 22 }, (_, i) => rect(2 * i - 12, -12, 0.7, 44, "#036")).join("")}</g>`;
  it.each([
    ["stripes and lines that cross the cut", RED + lines],
    ["a line that follows the cut on both sides of it", `${RED}${rect(-3, 19.3, 26, 1.4, "#036")}`],
    ["a hairline on the cut", `${RED}${rect(-3, 19.9, 26, 0.2, "#036")}`],
    ["a gradient across the card", fade("#c33", "#36c", -3, 23)],
    ["a gradient across the cut", fade("#c33", "#36c", 19, 21)],
    ["an edge that crosses the cut at a low angle", slanting(6)],
    [
      "a picture that fades out at the cut, the bleed of which is made",
      `<linearGradient id="g"><stop offset="0" stop-color="#c33" stop-opacity="0"/><stop offset="1" stop-color="#c33"/></linearGradient>${rect(0, -3, 1.5, 26, "url(#g)")}${rect(1.5, -3, 21.5, 26, "#c33")}`,
    ],
    ["a change of 9 mm, less than is seen", `${RED}${rect(5, 20, 9, 3, "#36c")}`],
    ["a colour that differs by less than is seen", `${RED}${rect(-3, 20, 26, 3, "#c83838")}`],
    ["fine noise", noise(2)],
    ["coarse noise", noise(13)],
  ])("%s", async (_, body) => {
    expect(await look(drawing(body))).toEqual([]);
  });

  it("another part of the piece across a gap", async () => {
    const parts = [
      { outer: square(0, 0, 9.8), openings: [] },
      { outer: square(10.2, 0, 9.8), openings: [] },
    ];
    const body = rect(-3, -3, 13, 16, "#c33") + rect(10, -3, 13, 16, "#36c");
    expect(await look(drawing(body), { parts })).toEqual([]);
  });

  it("a bleed too narrow to compare", async () => {
    expect(await look(drawing(TWO + CARD), { bleed: 600 })).toEqual([]);
  });
});
