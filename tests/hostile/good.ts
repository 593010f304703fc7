// Good files of every kind that a kit or a buyer brings, small, so that a wrong byte in them is likely to matter.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { PDFDocument, StandardFonts } from "pdf-lib";
import sharp, { type Sharp } from "sharp";
import type { Hostile } from "./corpus.ts";
import { packed, page, stream } from "./pdf.ts";

const FIXTURES = join(import.meta.dirname, "../../fixtures");
const read = (path: string): Uint8Array => new Uint8Array(readFileSync(join(FIXTURES, path)));
const text = (content: string): Uint8Array => new TextEncoder().encode(content);

const drawing = (inner: string): Uint8Array =>
  text(
    `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="60mm" height="40mm" viewBox="0 0 60 40"><g id="art"><rect x="-4" y="-4" width="68" height="48" fill="#28a"/>${inner}</g><g id="lines"><path id="cut" d="M2 0H58A2 2 0 0 1 60 2V38A2 2 0 0 1 58 40H2A2 2 0 0 1 0 38V2A2 2 0 0 1 2 0Z"/></g></svg>`,
  );

const drawings = (dot: Uint8Array): Record<string, Uint8Array> => ({
  shapes: drawing(
    '<circle cx="20" cy="20" r="9" fill="#f60" opacity=".7"/><ellipse cx="40" cy="20" rx="9" ry="4" transform="rotate(20 40 20)" fill="gold"/><path d="M5 30c4-8 9 3 12-2s7-9 12 0z" fill="none" stroke="#123" stroke-width=".8" stroke-dasharray="2 1" stroke-linejoin="round"/><polygon points="50,5 55,15 45,15" fill="rgb(10%,20%,90%)"/><line x1="3" y1="3" x2="57" y2="37" stroke="#fff"/>',
  ),
  paints: drawing(
    '<defs><linearGradient id="a" x1="0" x2="1"><stop offset="0" stop-color="#f00"/><stop offset=".5" stop-color="#ff0" stop-opacity=".5"/><stop offset="1" stop-color="#00f"/></linearGradient><radialGradient id="b" cx=".4" cy=".6" r=".5" xlink:href="#a"/><pattern id="c" width="4" height="4" patternUnits="userSpaceOnUse"><circle cx="2" cy="2" r="1.5" fill="#084"/></pattern></defs><rect x="3" y="3" width="20" height="30" fill="url(#a)"/><rect x="25" y="3" width="15" height="30" fill="url(#b)"/><rect x="42" y="3" width="15" height="30" fill="url(#c)"/>',
  ),
  "clips and masks": drawing(
    '<defs><clipPath id="a"><circle cx="20" cy="20" r="12"/></clipPath><mask id="b"><rect width="60" height="40" fill="#888"/><circle cx="40" cy="20" r="9" fill="#fff"/></mask></defs><g clip-path="url(#a)"><rect width="40" height="40" fill="#e33"/></g><g mask="url(#b)"><rect x="28" y="5" width="28" height="30" fill="#3e3"/></g>',
  ),
  filters: drawing(
    '<filter id="a" x="-20%" width="140%"><feGaussianBlur stdDeviation=".8"/><feOffset dx="1" dy="1"/><feMerge><feMergeNode/><feMergeNode in="SourceGraphic"/></feMerge></filter><g filter="url(#a)"><rect x="10" y="10" width="30" height="20" fill="#fff"/></g>',
  ),
  "uses and styles": drawing(
    '<style>.a{fill:#fc0;stroke:#000;stroke-width:.3}#b>path{fill-rule:evenodd}</style><symbol id="s" viewBox="0 0 10 10"><path d="M0 0L10 0L5 10Z" class="a"/></symbol><g id="b"><use href="#s" x="5" y="5" width="10" height="10"/><use xlink:href="#s" x="25" y="15" width="20" height="20" transform="scale(.9)"/><path d="M40 5h12v12h-12zM43 8h6v6h-6z" style="fill:#906;opacity:.8"/></g>',
  ),
  letters: drawing(
    '<text x="30" y="15" font-size="6" text-anchor="middle" fill="#fff" font-family="Assistant">Hafen <tspan fill="#fe0" dy="2">1905</tspan></text><text font-size="4" x="5 9 13" y="30" rotate="10">abc</text>',
  ),
  embedded: drawing(
    `<image x="10" y="8" width="24" height="24" preserveAspectRatio="xMidYMid slice" href="data:image/png;base64,${Buffer.from(dot).toString("base64")}"/><image x="36" y="8" width="20" height="20" href="data:image/svg+xml;base64,${Buffer.from('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><circle cx="4" cy="4" r="4" fill="red"/></svg>').toString("base64")}"/>`,
  ),
  markers: drawing(
    '<marker id="m" markerWidth="4" markerHeight="4" refX="2" refY="2" orient="auto"><path d="M0 0L4 2L0 4Z"/></marker><path d="M5 20Q20 0 30 20T55 20" fill="none" stroke="#000" marker-start="url(#m)" marker-mid="url(#m)" marker-end="url(#m)"/><switch><g systemLanguage="en"><rect x="5" y="30" width="9" height="5"/></g></switch>',
  ),
});

const IMAGE = "/Type /XObject /Subtype /Image /BitsPerComponent 8";
const GREY = Buffer.from(Array.from({ length: 16 * 16 }, (_, i) => (i * 37) % 256));
const RGB = Buffer.from(Array.from({ length: 16 * 16 * 3 }, (_, i) => (i * 91) % 256));
const UNDER = "0.2 0.5 0.6 rg -9 -9 190 140 re f";

const documents = async (jpeg: Uint8Array): Promise<Record<string, Uint8Array>> => ({
  "the demo's sail": read("demo/kits/pilot-boat/sail.pdf"),
  paths: page(
    `${UNDER} q 1 0 0 RG 2 w [4 2] 0 d 10 10 m 60 80 90 20 150 100 c S Q 0 1 1 0 k 20 20 30 30 re 40 40 9 9 re f* q 80 20 50 50 re W n 1 g 60 30 90 20 re f Q`,
  ),
  "pictures and masks": page(
    `${UNDER} q 6 0 0 6 10 20 cm /A Do Q q 5 0 0 5 80 20 cm /B Do Q q 9 0 0 9 140 20 cm /C Do Q`,
    "/XObject << /A 5 0 R /B 6 0 R /C 8 0 R >>",
    [
      packed(`${IMAGE} /Width 16 /Height 16 /ColorSpace /DeviceRGB /SMask 7 0 R`, RGB),
      packed(
        `${IMAGE} /Width 16 /Height 16 /ColorSpace [/Indexed /DeviceRGB 3 <ff000000ff000000ffffffff>] /Mask [2 2]`,
        Buffer.from(GREY.map((v) => v % 4)),
      ),
      packed(`${IMAGE} /Width 16 /Height 16 /ColorSpace /DeviceGray`, GREY),
      stream(`${IMAGE} /Width 32 /Height 32 /ColorSpace /DeviceRGB /Filter /DCTDecode`, Buffer.from(jpeg)),
    ],
  ),
  "shadings, functions, patterns": page(
    `${UNDER} q 10 10 60 60 re W n /S sh Q q 80 10 60 60 re W n /T sh Q /Pattern cs /P scn 10 75 150 30 re f`,
    "/Shading << /S 5 0 R /T 6 0 R >> /Pattern << /P 9 0 R >>",
    [
      "<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [10 10 70 70] /Function 7 0 R /Extend [true true] >>",
      "<< /ShadingType 3 /ColorSpace /DeviceCMYK /Coords [110 40 5 110 40 30] /Function 8 0 R >>",
      "<< /FunctionType 3 /Domain [0 1] /Functions [<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [1 0 0] /C1 [1 1 0] >> << /FunctionType 2 /Domain [0 1] /N 2 /C0 [1 1 0] /C1 [0 0 1] >>] /Bounds [0.5] /Encode [0 1 0 1] >>",
      stream(
        "/FunctionType 4 /Domain [0 1] /Range [0 1 0 1 0 1 0 1]",
        "{ dup 0.5 mul exch dup 1 exch sub exch 0 exch 0.1 add 1 2 copy gt { exch } if pop }",
      ),
      stream(
        "/Type /Pattern /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9 /Resources << >>",
        "1 1 0 rg 0 0 5 5 re f",
      ),
    ],
  ),
  "forms and soft masks": page(
    `${UNDER} /G gs q 1 0 0 1 20 20 cm /F Do Q /H gs 0.9 g 90 20 60 60 re f`,
    "/XObject << /F 5 0 R >> /ExtGState << /G << /ca 0.6 /BM /Multiply >> /H 6 0 R >>",
    [
      stream(
        "/Type /XObject /Subtype /Form /BBox [0 0 60 60] /Matrix [1 0.1 0 1 0 0] /Group << /S /Transparency /CS /DeviceRGB /I true >> /Resources << >>",
        "1 0 0 rg 0 0 40 40 re f 0 1 0 rg 20 20 40 40 re f",
      ),
      "<< /Type /ExtGState /SMask << /Type /Mask /S /Luminosity /G 7 0 R >> >>",
      stream(
        "/Type /XObject /Subtype /Form /BBox [0 0 200 200] /Group << /S /Transparency /CS /DeviceGray >> /Resources << >>",
        "0.7 g 0 0 200 200 re f",
      ),
    ],
  ),
  "spots and boxes": page(
    `${UNDER} /Sep cs 0.8 scn 20 20 60 60 re f /Dev cs 0.5 0.2 scn 90 20 60 60 re f /Lab cs 50 20 -30 scn 70 80 20 20 re f`,
    "/ColorSpace << /Sep [/Separation /Gold /DeviceCMYK 5 0 R] /Dev [/DeviceN [/Cyan /Varnish] /DeviceCMYK 6 0 R] /Lab [/Lab << /WhitePoint [0.9505 1 1.089] /Range [-100 100 -100 100] >>] >>",
    [
      "<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [0 0 0 0] /C1 [0 0.2 0.9 0.1] >>",
      stream("/FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1]", "{ 0 exch 0 exch }"),
    ],
  ),
  letters: await lettered(),
});

/** A page with fonts, layers of objects in streams, a comment and a form field. */
const lettered = async (): Promise<Uint8Array> => {
  const document = await PDFDocument.create({ updateMetadata: false });
  const sheet = document.addPage([170.08, 113.39]);
  sheet.drawRectangle({ x: -9, y: -9, width: 190, height: 140 });
  const font = await document.embedFont(StandardFonts.TimesRoman);
  sheet.drawText("Hafen 1905", { x: 20, y: 50, size: 20, font });
  const field = document.getForm().createTextField("name");
  field.setText("Aino");
  field.addToPage(sheet, { x: 20, y: 10, width: 60, height: 18, font });
  return document.save({ addDefaultPage: false });
};

const pictures = async (): Promise<Record<string, Uint8Array>> => {
  const [width, height] = [400, 267];
  const grain = Buffer.from(
    Array.from({ length: width * height * 3 }, (_, i) => ((i % (width * 3)) / 5 + Math.floor(i / 9000) * 3) & 255),
  );
  const raw = () => sharp(grain, { raw: { width, height, channels: 3 } });
  const of = async (picture: Sharp): Promise<Uint8Array> => new Uint8Array(await picture.toBuffer());
  return {
    "plain.png": await of(raw().png()),
    "palette.png": await of(raw().png({ palette: true, colours: 16 })),
    "interlaced with alpha.png": await of(raw().ensureAlpha(0.5).png({ progressive: true })),
    "grey of 16 bits.png": await of(raw().greyscale().toColourspace("grey16").png()),
    "plain.jpg": await of(raw().jpeg({ quality: 60 })),
    "progressive.jpg": await of(raw().jpeg({ progressive: true, quality: 50 })),
    "four inks.jpg": await of(raw().toColourspace("cmyk").jpeg()),
    "turned.jpg": await of(raw().resize(600, 900).withMetadata({ orientation: 6 }).jpeg({ quality: 50 })),
    "the demo's card.jpg": await of(sharp(read("demo/kits/keepsake/card.jpg")).resize(400).keepIccProfile().jpeg()),
    "lzw.tif": await of(raw().tiff({ compression: "lzw" })),
    "deflate.tif": await of(raw().tiff({ compression: "deflate", predictor: "horizontal" })),
    "four inks.tif": await of(raw().toColourspace("cmyk").tiff({ compression: "lzw" })),
    "tiles.tif": await of(raw().tiff({ tile: true, compression: "jpeg" })),
    "lossy.webp": await of(raw().webp({ quality: 50 })),
    "lossless with alpha.webp": await of(raw().ensureAlpha(0.5).webp({ lossless: true })),
    "plain.avif": await of(raw().avif({ quality: 40, effort: 0 })),
  };
};

const fonts = async (): Promise<Record<string, Uint8Array>> => {
  const { compress } = createRequire(import.meta.url)("wawoff2") as {
    compress: (bytes: Uint8Array) => Promise<Uint8Array>;
  };
  const assistant = read("fonts/Assistant-Regular.ttf");
  return {
    "Assistant.ttf": assistant,
    "Hebrew.ttf": read("demo/kits/keepsake/fonts/NotoSansHebrew-Bold.ttf"),
    "Arabic.ttf": read("fonts/NotoSansArabic-Regular.ttf"),
    "Assistant.woff2": new Uint8Array(await compress(assistant)),
  };
};

const SLOT = { slot: "name", box: [6, 12, 48, 14], size: 12, leastSize: 6, colour: "#ffffff" };
const PIECE = { piece: "bad", drawing: "good.svg", stock: "card", lines: { cutting: "#cut" }, artwork: "#art" };

const kits = (): Record<string, Uint8Array> => ({
  plain: text(JSON.stringify({ kit: "@KIT@", title: "A kit", pieces: [{ ...PIECE, perKit: 1, turns: [0, 90] }] })),
  slots: text(
    JSON.stringify({
      kit: "@KIT@",
      pieces: [
        {
          ...PIECE,
          size: [60, 40],
          slots: [
            { ...SLOT, align: "centre", safe: 2, outline: { colour: [0, 85, 75, 5], width: 0.4 } },
            { slot: "link", code: "qr", box: [40, 20, 16, 16], safe: 1 },
          ],
        },
      ],
    }),
  ),
  "two pieces": text(JSON.stringify({ kit: "@KIT@", pieces: [PIECE, { ...PIECE, piece: "b", turns: "any" }] })),
});

const orders = (): Record<string, Uint8Array> => ({
  plain: text(
    '{"order":"@ORDER@","due":"2026-12-02","lines":[{"kit":"tag","quantity":2,"texts":[{"name":"Solveig"},{"name":"Åse"}]}]}',
  ),
  addressed: text(
    '{"order":"@ORDER@","rush":false,"address":["Solveig Ødegård","Strandgata 7","9008 Tromsø"],"lines":[{"kit":"tag","quantity":1,"texts":[{"name":"Łódź"}]}]}',
  ),
});

/** All of them. The same every time. */
export const good = async (): Promise<Hostile[]> => {
  const seen = await pictures();
  const dot = new Uint8Array(
    await sharp(RGB, { raw: { width: 16, height: 16, channels: 3 } })
      .png()
      .toBuffer(),
  );
  const jpeg = new Uint8Array(
    await sharp(Buffer.alloc(32 * 32 * 3, 90), { raw: { width: 32, height: 32, channels: 3 } })
      .jpeg()
      .toBuffer(),
  );
  const kind =
    (as: Hostile["as"], file: (name: string) => string) =>
    ([name, bytes]: [string, Uint8Array]): Hostile => ({ name: `${as} ${name}`, file: file(name), bytes, as });
  const ending = (name: string): string => `bad.${name.split(".").pop()}`;
  return [
    ...Object.entries(drawings(dot)).map(kind("drawing", () => "bad.svg")),
    ...Object.entries(await documents(jpeg)).map(kind("artwork", () => "bad.pdf")),
    ...Object.entries(seen).map(kind("artwork", ending)),
    ...Object.entries(await fonts()).map(kind("font", ending)),
    ...Object.entries(kits()).map(kind("kit", () => "kit.json")),
    ...Object.entries(orders()).map(kind("order", () => "order.json")),
  ];
};
