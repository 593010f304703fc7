// How the made bleed looks: against the truth that was cut off, against mirroring and inpainting, and free of fringe.
import { readFileSync, writeFileSync } from "node:fs";
import { type BleedMade, type BleedRequest, makeBleed, type PixelGrid } from "@kitforme/bleed";
import sharp from "sharp";
import { difference, labOf } from "./ciede2000.ts";
import { atMost, type Figure, type Measured, round } from "./measure.ts";
import { ask, inFolder, peersPresent, writeMask } from "./peers.ts";
import { BAND, BLEED, BODY, BOX, bandPixels, PARTS, PIXEL, REACH, SIDE, type Truth, truths } from "./truth.ts";

const BAND_PIXELS = bandPixels();

/** What is printed, on the raster of the picture. */
const printedOf = (made: BleedMade): Uint8Array => {
  const out = new Uint8Array(SIDE * SIDE * 3);
  for (const { box, width, height, data } of made.flattened ? [made.flattened] : made.tiles) {
    const [left, top] = [Math.round(box.x / PIXEL), Math.round(box.y / PIXEL)];
    for (let y = Math.max(0, -top); y < height && y + top < SIDE; y++)
      for (let x = Math.max(0, -left); x < width && x + left < SIDE; x++)
        for (let c = 0; c < 3; c++)
          out[((y + top) * SIDE + x + left) * 3 + c] = data[(y * width + x) * 3 + c] as number;
  }
  return out;
};

const bled = (grid: PixelGrid, more: Partial<BleedRequest>): Uint8Array => {
  const made = makeBleed({
    grid,
    parts: PARTS,
    reach: REACH,
    bleed: BLEED,
    source: "alpha",
    ownBleed: false,
    gap: 300,
    spread: "nearest",
    ...more,
  });
  if ("empty" in made) throw new Error("no source");
  return printedOf(made);
};

const labAt = (rgb: Uint8Array, at: number) =>
  labOf(rgb[3 * at] as number, rgb[3 * at + 1] as number, rgb[3 * at + 2] as number);

/** Chance that a cut with a standard deviation of 0.4 mm shows what lies this far out (Abramowitz and Stegun 26.2.17). */
const shows = (mm: number): number => {
  const x = mm / 0.4;
  const k = 1 / (1 + 0.231_641_9 * x);
  const sum =
    k * (0.319_381_53 + k * (-0.356_563_782 + k * (1.781_477_937 + k * (-1.821_255_978 + k * 1.330_274_429))));
  return (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) * sum;
};

/** Mean CIEDE2000 of the band, weighted by distance. */
const apart = (a: Uint8Array, b: Uint8Array, weight: (mm: number) => number): number => {
  let sum = 0;
  let all = 0;
  for (const { at, mm } of BAND_PIXELS) {
    const w = weight(mm);
    if (w === 0) continue;
    sum += w * difference(labAt(a, at), labAt(b, at));
    all += w;
  }
  return sum / all;
};

const withAlpha = ({ rgb }: Truth): PixelGrid => {
  const data = new Uint8Array(SIDE * SIDE * 4);
  for (let y = 0; y < SIDE; y++)
    for (let i = BODY.start[y] as number; i < (BODY.start[y + 1] as number); i += 2)
      for (let x = BODY.ends[i] as number; x < (BODY.ends[i + 1] as number); x++) {
        const at = y * SIDE + x;
        data.set(rgb.subarray(3 * at, 3 * at + 3), 4 * at);
        data[4 * at + 3] = 255;
      }
  return { width: SIDE, height: SIDE, channels: 4, depth: 8, data, alpha: true, box: BOX };
};

const peersOf = (truth: Truth): Promise<Record<"mirror" | "telea" | "ns", Uint8Array>> =>
  inFolder((folder) => {
    const path = (file: string): string => `${folder}/${file}`;
    writeFileSync(path("picture"), truth.rgb);
    writeMask(path("source"), BODY, SIDE);
    writeMask(path("target"), BAND, SIDE);
    ask("paint", SIDE, SIDE, path("picture"), path("source"), path("target"), path("out"));
    return {
      mirror: readFileSync(path("out.mirror")),
      telea: readFileSync(path("out.telea")),
      ns: readFileSync(path("out.ns")),
    };
  });

const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;

const fringe = async (): Promise<Figure[]> => {
  const d = PARTS.map(({ outer }) => `M${outer.map(({ x, y }) => `${x / PIXEL} ${y / PIXEL}`).join("L")}Z`).join("");
  const figures: Figure[] = [];
  for (const [kind, limit] of [
    ["clean", 0.1],
    ["jpeg", 1.2],
  ] as const) {
    const found: number[] = [];
    for (const colour of ["#1b3a5b", "#b02a2a"]) {
      const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${SIDE}" height="${SIDE}"><path fill="${colour}" d="${d}"/></svg>`;
      const drawn = sharp(Buffer.from(svg)).flatten({ background: "#fff" });
      const file =
        kind === "jpeg"
          ? await drawn.jpeg({ quality: 92, chromaSubsampling: "4:2:0" }).toBuffer()
          : await drawn.png().toBuffer();
      const data = new Uint8Array(await sharp(file).raw().toBuffer());
      const rgb = [1, 3, 5].map((i) => Number.parseInt(colour.slice(i, i + 2), 16));
      const flat = Uint8Array.from({ length: SIDE * SIDE * 3 }, (_, i) => rgb[i % 3] as number);
      const grid: PixelGrid = { width: SIDE, height: SIDE, channels: 3, depth: 8, data, alpha: false, box: BOX };
      found.push(apart(bled(grid, { source: kind }), flat, (mm) => (mm <= 1 ? 1 : 0)));
    }
    const name = kind === "jpeg" ? "fringe in the first mm, JPEG q92" : "fringe in the first mm, anti-aliased";
    figures.push(atMost(name, mean(found), "CIEDE2000", limit));
  }
  return figures;
};

export const quality = async (say: (line: string) => void): Promise<Measured> => {
  say("fringe");
  const figures = await fringe();
  const present = peersPresent();
  const all = await truths(present);
  const photos: { kind: number; nearest: number; soft: number; mirror: number; telea: number; ns: number }[] = [];
  for (const truth of all) {
    say(`known truth: ${truth.name}`);
    const grid = withAlpha(truth);
    const ours = apart(bled(grid, {}), truth.rgb, shows);
    const soft = apart(bled(grid, { spread: "soft" }), truth.rgb, shows);
    const others = present ? await peersOf(truth) : undefined;
    const peer = others && {
      mirror: apart(others.mirror, truth.rgb, shows),
      telea: apart(others.telea, truth.rgb, shows),
      ns: apart(others.ns, truth.rgb, shows),
    };
    if (typeof truth.kind === "number" && peer) photos.push({ kind: truth.kind, nearest: ours, soft, ...peer });
    else if (truth.kind === "stripes" && peer) {
      const least = Math.min(peer.mirror, peer.telea, peer.ns);
      figures.push({
        name: `stripes, ${truth.name}: visible, against the best of mirroring and inpainting`,
        value: round(ours),
        unit: "CIEDE2000",
        peer: round(least),
        ratio: round(least / ours),
        goal: "never worse",
        met: ours <= least,
      });
    } else
      figures.push({ name: `${truth.name}: visible (soft ${round(soft)})`, value: round(ours), unit: "CIEDE2000" });
  }
  if (!present) return { figures, left: ["photographs and painters: no scipy and OpenCV at /usr/bin/python3"] };
  for (const kind of [128, 200, 300]) {
    const some = photos.filter((p) => p.kind === kind);
    const of = (key: "nearest" | "soft" | "mirror" | "telea" | "ns"): number => mean(some.map((p) => p[key]));
    const peer = round(Math.min(of("mirror"), of("telea"), of("ns")));
    say(`${kind} ppi: mirror ${round(of("mirror"))}, Telea ${round(of("telea"))}, Navier-Stokes ${round(of("ns"))}`);
    figures.push({
      name: `${some.length} photographs of ${kind} ppi, visible, default, against the best of mirroring and inpainting`,
      value: round(of("nearest")),
      unit: "CIEDE2000",
      peer,
      ratio: round(peer / of("nearest")),
    });
    figures.push({
      name: `${some.length} photographs of ${kind} ppi, visible, soft, against the best of mirroring and inpainting`,
      value: round(of("soft")),
      unit: "CIEDE2000",
      peer,
      ratio: round(peer / of("soft")),
      goal: "below the best of them",
      met: of("soft") < Math.min(of("mirror"), of("telea"), of("ns")),
    });
  }
  return { figures, left: [] };
};
