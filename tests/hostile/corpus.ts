// Files made to hurt, one fault each, by a generator: nothing large lies in the repository. A kit of each has a good piece
// beside the bad one.
import { deflateSync, gzipSync } from "node:zlib";
import sharp from "sharp";
import { circling, multiplying, packed, page, paths, pdf, selfCalling, stream, CATALOGUE, PAGES } from "./pdf.ts";
import { chunk, png } from "./png.ts";

export interface Hostile {
  readonly name: string;
  /** The bad file. */
  readonly file: string;
  readonly bytes: Uint8Array;
  /** What it is to the piece. */
  readonly as: "drawing" | "artwork" | "font" | "kit" | "order";
}

const text = (content: string): Uint8Array => new TextEncoder().encode(content);
const fill = (count: number, one: (i: number) => string): string =>
  Array.from({ length: count }, (_, i) => one(i)).join("");

const CUT = '<path id="cut" d="M0 0H60V40H0Z"/>';
const svg = (inner: string, root = 'width="60mm" height="40mm" viewBox="0 0 60 40"'): Uint8Array =>
  text(
    `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" ${root}><g id="art"><rect width="60" height="40" fill="#28a"/>${inner}</g>${CUT}</svg>`,
  );

const zeros = (bytes: number): Buffer => deflateSync(Buffer.alloc(bytes), { level: 9 });

const tiff = (
  entries: readonly (readonly [tag: number, type: number, count: number, value: number])[],
  next = 0,
  tail = 64,
): Uint8Array => {
  const b = Buffer.alloc(8 + 2 + entries.length * 12 + 4 + tail);
  b.write("II", 0, "latin1");
  b.writeUInt16LE(42, 2);
  b.writeUInt32LE(8, 4);
  b.writeUInt16LE(entries.length, 8);
  for (const [i, [tag, type, count, value]] of entries.entries()) {
    const at = 10 + i * 12;
    b.writeUInt16LE(tag, at);
    b.writeUInt16LE(type, at + 2);
    b.writeUInt32LE(count >>> 0, at + 4);
    b.writeUInt32LE(value >>> 0, at + 8);
  }
  b.writeUInt32LE(next, 10 + entries.length * 12);
  return new Uint8Array(b);
};
const strips = (width: number, height: number, more: readonly (readonly [number, number, number, number])[] = []) =>
  [
    [256, 4, 1, width],
    [257, 4, 1, height],
    [258, 3, 1, 8],
    [259, 3, 1, 1],
    [262, 3, 1, 1],
    [273, 4, 1, 8],
    [277, 3, 1, 1],
    [278, 4, 1, height],
    [279, 4, 1, 64],
    ...more,
  ] as const;

/** A font directory of tables that are not what they say. */
const sfnt = (
  tables: readonly (readonly [tag: string, offset: number, length: number])[],
  count = tables.length,
  size = 4096,
): Uint8Array => {
  const b = Buffer.alloc(Math.max(size, 12 + tables.length * 16));
  b.writeUInt32BE(0x00010000, 0);
  b.writeUInt16BE(count, 4);
  for (const [i, [tag, offset, length]] of tables.entries()) {
    b.write(tag, 12 + i * 16, "latin1");
    b.writeUInt32BE(offset >>> 0, 20 + i * 16);
    b.writeUInt32BE(length >>> 0, 24 + i * 16);
  }
  return new Uint8Array(b);
};
const NEEDED = ["cmap", "head", "hhea", "hmtx", "maxp", "glyf", "loca", "OS/2"];

const kit = (more: string): Uint8Array =>
  text(
    `{"kit":"@KIT@","pieces":[{"piece":"bad","drawing":"good.svg","stock":"card","lines":{"cutting":"#cut"},"artwork":"#art"${more}}]}`,
  );

const nest = (levels: number, open: string, close: string): string => open.repeat(levels) + close.repeat(levels);
const FORM = "/Type /XObject /Subtype /Form /BBox [0 0 200 200]";
const IMAGE = "/Type /XObject /Subtype /Image /ColorSpace /DeviceGray /BitsPerComponent 8";

const drawings = (): Record<string, Uint8Array> => ({
  "a root of 100,000 pixels": svg("", 'width="100000" height="100000"'),
  "a root of 100,000 mm": svg("", 'width="100000mm" height="100000mm" viewBox="0 0 60 40"'),
  "a root of no size": svg("", 'width="0" height="0" viewBox="0 0 0 0"'),
  "a root of infinite size": svg("", 'width="1e999mm" height="1e999mm" viewBox="0 0 60 40"'),
  "a negative view": svg("", 'width="60mm" height="40mm" viewBox="0 0 -60 -40"'),
  "uses that double twenty times": svg(
    `<defs><g id="u0"><rect width="1" height="1"/></g>${fill(20, (i) => `<g id="u${i + 1}"><use href="#u${i}"/><use href="#u${i}"/></g>`)}</defs><use href="#u20"/>`,
  ),
  "a use of itself": svg('<g id="me"><use href="#me"/></g>'),
  "uses in a circle": svg('<g id="a1"><use href="#b1"/></g><g id="b1"><use href="#a1"/></g>'),
  "a billion laughs": text(
    `<!DOCTYPE svg [<!ENTITY a "ha">${fill(9, (i) => `<!ENTITY ${"bcdefghij"[i]} "${`&${"abcdefghi"[i]};`.repeat(10)}">`)}]><svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40"><text>&j;</text>${CUT}</svg>`,
  ),
  "an entity from a file": text(
    '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40"><text>&x;</text></svg>',
  ),
  "a picture of the system": svg('<image href="/etc/passwd" width="60" height="40"/>'),
  "a picture by address": svg('<image href="http://127.0.0.1:9/x.png" width="60" height="40"/>'),
  "a style sheet by address": svg("<style>@import url(http://127.0.0.1:9/x.css);</style>"),
  "a script": svg("<script>while(true);</script>"),
  "a foreign page": svg(
    '<foreignObject width="60" height="40"><body xmlns="http://www.w3.org/1999/xhtml"><iframe src="file:///etc/passwd"/></body></foreignObject>',
  ),
  "20,000 letters of live text": svg(
    `<text font-size="1" y="5">${fill(200, (i) => `<tspan x="0" dy="0.1">${"Wg".repeat(50)}${i}</tspan>`)}</text>`,
  ),
  "one line of 20,000 letters": svg(`<text font-size="1" y="5">${"Wgjé ".repeat(4000)}</text>`),
  "200,000 curves in one path": svg(
    `<path fill="none" stroke="#000" stroke-width="0.1" d="M0 0${fill(200_000, (i) => `C${i % 60} ${i % 40} ${(i * 7) % 60} ${(i * 3) % 40} ${(i * 11) % 60} ${(i * 5) % 40}`)}"/>`,
  ),
  "200,000 curves in the cut line": text(
    `<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40"><path id="cut" d="M0 0${fill(200_000, (i) => `C${i % 60} ${i % 40} ${(i * 7) % 60} ${(i * 3) % 40} ${(i * 11) % 60} ${(i * 5) % 40}`)}Z"/></svg>`,
  ),
  "2,000 blurs": svg(
    `<filter id="f"><feGaussianBlur stdDeviation="9"/></filter>${fill(2000, (i) => `<rect filter="url(#f)" x="${i % 50}" y="${i % 30}" width="9" height="9"/>`)}`,
  ),
  "2,000 blurs in one filter": svg(
    `<filter id="f">${fill(2000, () => '<feGaussianBlur stdDeviation="3"/>')}</filter><rect filter="url(#f)" width="50" height="30"/>`,
  ),
  "a blur of a kilometre": svg(
    '<filter id="f" x="-9" y="-9" width="20" height="20"><feGaussianBlur stdDeviation="100000"/></filter><rect filter="url(#f)" width="50" height="30"/>',
  ),
  "noise of a thousand octaves": svg(
    '<filter id="f"><feTurbulence baseFrequency="9" numOctaves="1000"/></filter><rect filter="url(#f)" width="60" height="40"/>',
  ),
  "a convolution of 99 by 99": svg(
    `<filter id="f"><feConvolveMatrix order="99" kernelMatrix="${"1 ".repeat(9801)}"/></filter><rect filter="url(#f)" width="60" height="40"/>`,
  ),
  "a morphology of a metre": svg(
    '<filter id="f"><feMorphology operator="dilate" radius="1000"/></filter><rect filter="url(#f)" width="60" height="40"/>',
  ),
  "a pattern of itself": svg(
    '<pattern id="p" width="1" height="1" patternUnits="userSpaceOnUse"><rect width="1" height="1" fill="url(#p)"/></pattern><rect width="60" height="40" fill="url(#p)"/>',
  ),
  "a mask of itself": svg(
    '<mask id="m"><rect width="60" height="40" fill="#fff" mask="url(#m)"/></mask><rect width="60" height="40" mask="url(#m)"/>',
  ),
  "a clip of itself": svg(
    '<clipPath id="c" clip-path="url(#c)"><rect width="60" height="40"/></clipPath><rect width="60" height="40" clip-path="url(#c)"/>',
  ),
  "a gradient of itself": svg('<linearGradient id="g" href="#g"/><rect width="60" height="40" fill="url(#g)"/>'),
  "a marker of itself": svg(
    '<marker id="m" markerWidth="3" markerHeight="3"><path d="M0 0L1 1L2 0" marker-mid="url(#m)"/></marker><path d="M0 0L9 9L20 0" marker-mid="url(#m)"/>',
  ),
  "patterns of patterns": svg(
    `${fill(12, (i) => `<pattern id="p${i}" width="0.5" height="0.5" patternUnits="userSpaceOnUse"><rect width="1" height="1" fill="url(#p${i + 1})"/></pattern>`)}<rect width="60" height="40" fill="url(#p0)"/>`,
  ),
  "tiles of a micrometre": svg(
    '<pattern id="p" width="0.0001" height="0.0001" patternUnits="userSpaceOnUse"><rect width="1" height="1"/></pattern><rect width="60" height="40" fill="url(#p)"/>',
  ),
  "dashes of a micrometre": svg('<path d="M0 0H60" stroke="#000" stroke-dasharray="0.00001 0.00001"/>'),
  "dashes of nothing": svg('<path d="M0 0H60" stroke="#000" stroke-dasharray="0 0 0"/>'),
  "a stroke a kilometre wide": svg('<path d="M0 0L60 40" stroke="#000" stroke-width="1000000"/>'),
  "5,000 levels of groups": svg(nest(5000, "<g>", "</g>")),
  "5,000 levels of transforms": svg(`<g transform="${"scale(1.1) ".repeat(5000)}"><rect width="1" height="1"/></g>`),
  "numbers of a thousand digits": svg(`<rect x="${"9".repeat(1000)}" width="${"1".repeat(1000)}" height="1"/>`),
  "numbers that are none": svg('<rect x="NaN" y="Infinity" width="-Infinity" height="1e400"/>'),
  "an arc of nothing": svg('<path d="M0 0A0 0 0 0 1 9 9A1e300 1e300 0 1 1 0 0Z"/>'),
  "an attribute of a megabyte": svg(`<g class="${"x".repeat(1_000_000)}"/>`),
  "a thousand classes": svg(
    `<style>${fill(1000, (i) => `.c${i} .c${i + 1} > g ~ rect:not(.c${i + 2}){fill:#${String(i).padStart(3, "0")}}`)}</style>${fill(1000, (i) => `<g class="c${i}"><rect width="1" height="1"/></g>`)}`,
  ),
  "a style of open brackets": svg(`<style>${"{".repeat(10_000)}</style>`),
  "a comment without end": text(
    `<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">${"<!-".repeat(50_000)}`,
  ),
  "a tag without end": text(
    `<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" ${'a="'.repeat(20_000)}`,
  ),
  "half a drawing": svg("").slice(0, 120),
  "no drawing": text("This is no drawing."),
  "nothing at all": new Uint8Array(),
  zeros: new Uint8Array(10_000),
  "a packed drawing": new Uint8Array(gzipSync(Buffer.from(svg("")))),
  "UTF-16 without a mark": new Uint8Array(Buffer.from(Buffer.from(svg("")).toString(), "utf16le")),
  "broken UTF-8": new Uint8Array(
    Buffer.concat([
      Buffer.from(svg("")).subarray(0, 200),
      Buffer.of(0xff, 0xc0, 0x80),
      Buffer.from(svg("")).subarray(200),
    ]),
  ),
  "an embedded picture of 100,000 x 100,000": svg(
    `<image width="60" height="40" href="data:image/png;base64,${Buffer.from(png(100_000, 100_000, 8, 2, zeros(1000))).toString("base64")}"/>`,
  ),
  "an embedded drawing that embeds": svg(
    `<image width="60" height="40" href="data:image/svg+xml;base64,${Buffer.from(svg('<image href="file:///etc/passwd" width="9" height="9"/>')).toString("base64")}"/>`,
  ),
  "an embedded picture of rubbish": svg(
    `<image width="60" height="40" href="data:image/png;base64,${"A".repeat(100_000)}"/>`,
  ),
});

const documents = (): Record<string, Uint8Array> => ({
  "a form that draws itself": selfCalling(),
  "forms in a circle": circling(),
  "10^20 squares": multiplying(),
  "10^6 squares": multiplying(6),
  "a hundred thousand paths": paths(100_000),
  "a million paths": paths(1_000_000),
  "a page packed ten times": page(packed("", "0 0 9 9 re f", 10)),
  "200 MB of spaces": page(packed("", Buffer.alloc(200_000_000, 32))),
  "200 MB of zeros, packed twice": page(packed("", Buffer.alloc(200_000_000), 2)),
  "a picture of 60,000 x 60,000": page("60 0 0 40 0 0 cm /I Do", "/XObject << /I 5 0 R >>", [
    packed(`${IMAGE} /Width 60000 /Height 60000`, Buffer.alloc(1000)),
  ]),
  "a picture of a negative size": page("60 0 0 40 0 0 cm /I Do", "/XObject << /I 5 0 R >>", [
    packed(`${IMAGE} /Width -5 /Height -5`, Buffer.alloc(1000)),
  ]),
  "a picture that masks itself": page("60 0 0 40 0 0 cm /I Do", "/XObject << /I 5 0 R >>", [
    packed(`${IMAGE} /Width 5 /Height 5 /SMask 5 0 R`, Buffer.alloc(25)),
  ]),
  "a pattern of itself": page("/Pattern cs /P scn 0 0 170 113 re f", "/Pattern << /P 5 0 R >>", [
    stream(
      "/Type /Pattern /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 1 1] /XStep 1 /YStep 1 /Resources << /Pattern << /P 5 0 R >> >>",
      "/Pattern cs /P scn 0 0 1 1 re f",
    ),
  ]),
  "tiles of nothing": page("/Pattern cs /P scn 0 0 170 113 re f", "/Pattern << /P 5 0 R >>", [
    stream(
      "/Type /Pattern /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 1 1] /XStep 0.00001 /YStep 0.00001 /Resources << >>",
      "0 0 1 1 re f",
    ),
  ]),
  "a colour space of itself": page("/C cs 1 sc 0 0 170 113 re f", "/ColorSpace << /C 5 0 R >>", [
    "[/Indexed 5 0 R 1 <0011>]",
  ]),
  "a function of itself": page("/S sh", "/Shading << /S 5 0 R >>", [
    "<< /ShadingType 1 /ColorSpace /DeviceGray /Function 6 0 R >>",
    "<< /FunctionType 3 /Domain [0 1] /Functions [6 0 R 6 0 R] /Bounds [0.5] /Encode [0 1 0 1] >>",
  ]),
  "a soft mask of itself": page("/G gs 0 0 170 113 re f", "/ExtGState << /G 5 0 R >>", [
    "<< /SMask << /S /Luminosity /G 6 0 R >> >>",
    stream(
      `${FORM} /Group << /S /Transparency /CS /DeviceGray >> /Resources << /ExtGState << /G 5 0 R >> >>`,
      "/G gs 1 g 0 0 99 99 re f",
    ),
  ]),
  "10,000 saved states": page(`${"q ".repeat(10_000)}0 0 9 9 re f${" Q".repeat(10_000)}`),
  "20,000 clips": page(`${"0 0 170 113 re W n ".repeat(20_000)}0 0 9 9 re f`),
  "5,000 brackets": page(`${"[".repeat(5000)}${"]".repeat(5000)} 0 d 0 0 9 9 re f`),
  "numbers too large": page("1e38 0 0 1e38 1e38 1e38 cm 99999999999999999999 0 m 1 1 l S"),
  "a page of 10^9 points": page("0 0 9 9 re f", "", [], "0 0 1000000000 1000000000"),
  "a page of no size": page("0 0 9 9 re f", "", [], "0 0 0 0"),
  "a page inside out": page("0 0 9 9 re f", "", [], "170 113 0 0"),
  "a page of words": page("0 0 9 9 re f", "", [], "a b c d"),
  "a tree in a circle": pdf([CATALOGUE, "<< /Type /Pages /Kids [2 0 R] /Count 1 >>"]),
  "a tree of 2 billion pages": pdf([
    CATALOGUE,
    "<< /Type /Pages /Kids [3 0 R] /Count 2147483647 >>",
    "<< /Type /Page /Parent 2 0 R >>",
  ]),
  "no pages": pdf([CATALOGUE, "<< /Type /Pages /Kids [] /Count 0 >>"]),
  "no catalogue": pdf(["<< >>"]),
  "an object that is itself": pdf(["1 0 R"]),
  "contents of a circle": pdf([
    CATALOGUE,
    PAGES,
    "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 170 113] /Contents [3 0 R 4 0 R] >>",
    "[4 0 R 4 0 R]",
  ]),
  "a locked document": pdf(
    [CATALOGUE, PAGES, "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 170 113] >>"],
    "/Encrypt << /Filter /Standard /V 1 /R 2 /O (12345678901234567890123456789012) /U (12345678901234567890123456789012) /P -1 >>",
  ),
  "a trailer in a circle": text(
    "%PDF-1.7\n1 0 obj\n<<>>\nendobj\nxref\n0 1\n0000000000 65535 f \ntrailer\n<< /Size 1 /Root 1 0 R /Prev 30 >>\nstartxref\n30\n%%EOF",
  ),
  "a header and nothing": text("%PDF-1.7\n%%EOF"),
  "half a document": page("0 0 9 9 re f").slice(0, 300),
  "a stream of a wrong length": text(
    "%PDF-1.4\n1 0 obj\n<< /Type /Catalog /Pages 2 0 R >>\nendobj\n2 0 obj\n<< /Type /Pages /Kids [3 0 R] /Count 1 >>\nendobj\n3 0 obj\n<< /Type /Page /Parent 2 0 R /MediaBox [0 0 170 113] /Contents 4 0 R >>\nendobj\n4 0 obj\n<< /Length 99999999999 >>\nstream\n0 0 9 9 re f\nendstream\nendobj\ntrailer\n<< /Root 1 0 R >>\n",
  ),
  "a script that runs at once": pdf([
    "<< /Type /Catalog /Pages 2 0 R /OpenAction << /S /JavaScript /JS (while(true);) >> >>",
    PAGES,
    "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 170 113] >>",
  ]),
});

const pictures = async (): Promise<Record<string, Uint8Array>> => {
  const grain = Buffer.from(Array.from({ length: 400 * 300 * 3 }, (_, i) => (i * 2654435761) >>> 24));
  const raw = sharp(grain, { raw: { width: 400, height: 300, channels: 3 } });
  const jpeg = new Uint8Array(await raw.clone().jpeg().toBuffer());
  const good = new Uint8Array(await raw.clone().png().toBuffer());
  const patched = (bytes: Uint8Array, marker: readonly number[], at: number, to: readonly number[]): Uint8Array => {
    const copy = Buffer.from(bytes);
    const found = copy.indexOf(Buffer.from(marker));
    if (found >= 0) copy.set(to, found + at);
    return new Uint8Array(copy);
  };
  return {
    "bomb.png": png(100_000, 100_000, 8, 2, zeros(1_000_000)),
    "bomb of 20,000 x 20,000 bits.png": png(20_000, 20_000, 1, 0, zeros(20_000 * 2501)),
    "wide.png": png(2_147_483_647, 1, 8, 0, zeros(1000)),
    "none.png": png(0, 0, 8, 0, zeros(10)),
    "deep.png": png(10, 10, 64, 2, zeros(1000)),
    "colours of no table.png": png(10, 10, 8, 3, zeros(110)),
    "comment bomb.png": png(10, 10, 8, 0, zeros(110), [
      chunk("zTXt", Buffer.concat([Buffer.from("a\0\0", "latin1"), zeros(100_000_000)])),
    ]),
    "profile bomb.png": png(10, 10, 8, 0, zeros(110), [
      chunk("iCCP", Buffer.concat([Buffer.from("a\0\0", "latin1"), zeros(100_000_000)])),
    ]),
    "false sum.png": patched(good, [0x49, 0x44, 0x41, 0x54], 20, [1, 2, 3, 4]),
    "half.png": good.slice(0, good.length / 2),
    "tail.png": new Uint8Array(Buffer.concat([good, Buffer.alloc(1_000_000, 65)])),
    "head.png": good.slice(0, 33),
    "half.jpg": jpeg.slice(0, jpeg.length / 2),
    "large.jpg": patched(jpeg, [0xff, 0xc0], 5, [0xff, 0xff, 0xff, 0xff]),
    "none.jpg": patched(jpeg, [0xff, 0xc0], 5, [0, 0, 0, 0]),
    "channels.jpg": patched(jpeg, [0xff, 0xc0], 9, [9]),
    "tables.jpg": patched(jpeg, [0xff, 0xc4], 5, [255, 255, 255, 255, 255, 255]),
    "no scan.jpg": jpeg.slice(0, Buffer.from(jpeg).indexOf(Buffer.from([0xff, 0xda]))),
    "segments.jpg": new Uint8Array(
      Buffer.concat([
        Buffer.from(jpeg).subarray(0, 2),
        Buffer.from("ffe10002".repeat(50_000), "hex"),
        Buffer.from(jpeg).subarray(2),
      ]),
    ),
    "circle.tif": tiff(strips(10, 10), 8),
    "large.tif": tiff(strips(4_000_000_000, 4_000_000_000)),
    "away.tif": tiff([
      [256, 4, 1, 10],
      [257, 4, 1, 10],
      [273, 4, 4_000_000_000, 4_000_000_000],
    ]),
    "counts.tif": tiff(
      strips(100, 100, [
        [320, 3, 4_294_967_295, 8],
        [34675, 7, 4_294_967_295, 8],
      ]),
    ),
    "empty.tif": tiff([]),
    "half.tif": tiff(strips(1000, 1000)).slice(0, 60),
  };
};

const fonts = (): Record<string, Uint8Array> => ({
  "nothing.ttf": new Uint8Array(),
  "zeros.ttf": new Uint8Array(5000),
  "header.ttf": sfnt([]),
  "counts.ttf": sfnt([], 65_535),
  "away.ttf": sfnt(NEEDED.map((tag) => [tag, 4_000_000_000, 4_000_000_000])),
  "one place.ttf": sfnt(NEEDED.map((tag) => [tag, 200, 3000])),
  "itself.ttf": sfnt(NEEDED.map((tag) => [tag, 0, 4096])),
  "collection.ttc": new Uint8Array(
    Buffer.concat([
      Buffer.from("ttcf", "latin1"),
      Buffer.from("00010000ffffffff0000000c", "hex"),
      Buffer.alloc(200, 255),
    ]),
  ),
  "rubbish.woff": new Uint8Array(Buffer.concat([Buffer.from("wOFF", "latin1"), Buffer.alloc(400, 255)])),
  "rubbish.woff2": new Uint8Array(Buffer.concat([Buffer.from("wOF2", "latin1"), Buffer.alloc(4000, 77)])),
  "a page.ttf": text("<html><body>Not found</body></html>"),
});

const kits = (): Record<string, Uint8Array> => ({
  "deep JSON": text("[".repeat(100_000)),
  "a cut-off kit": kit("").slice(0, 50),
  "a prototype": kit(',"__proto__":{"polluted":1},"constructor":{"prototype":{"polluted":1}}'),
  "numbers too large": kit(',"perKit":1e400'),
  "pieces of no number": kit(',"perKit":-1'),
  "a path upwards": kit(',"drawing":"../../../etc/passwd"'),
  "a path from the root": kit(',"drawing":"/etc/passwd"'),
  "a path of dots": kit(`,"drawing":"${"a/../".repeat(1000)}good.svg"`),
  "a name of escapes": kit(',"piece":"\\u001b[2J\\u202eevil"'),
  "a selector without end": kit(`,"artwork":"${":not(".repeat(2000)}"`),
  "a selector of everything": kit(`,"artwork":"${"* ".repeat(500)}"`),
  "turns without number": kit(`,"turns":[${"0.001,".repeat(50_000)}0]`),
  "a slot as large as a wall": kit(',"slots":[{"slot":"n","box":[0,0,1e9,1e9],"size":1e9,"colour":"#000000"}]'),
});

/** All of them. The same every time. */
export const corpus = async (): Promise<Hostile[]> => [
  ...Object.entries(drawings()).map(([name, bytes]): Hostile => ({ name, file: "bad.svg", bytes, as: "drawing" })),
  ...Object.entries(documents()).map(([name, bytes]): Hostile => ({ name, file: "bad.pdf", bytes, as: "artwork" })),
  ...Object.entries(await pictures()).map(
    ([name, bytes]): Hostile => ({ name, file: `bad.${name.split(".").pop()}`, bytes, as: "artwork" }),
  ),
  ...Object.entries(fonts()).map(
    ([name, bytes]): Hostile => ({ name, file: `bad.${name.split(".").pop()}`, bytes, as: "font" }),
  ),
  ...Object.entries(kits()).map(([name, bytes]): Hostile => ({ name, file: "kit.json", bytes, as: "kit" })),
];
