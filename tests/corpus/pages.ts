// Real PDF pages as the artwork of a card, printed to a sheet: its plates by Ghostscript against those of the designer's own file.
import { execFileSync } from "node:child_process";
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { checkPrint, sayBreaches, writePrint } from "@kitforme/files";
import { outputProfile, prepare, srgb } from "@kitforme/prepress";
import { PDFDocument } from "pdf-lib";
import sharp from "sharp";
import { file as artwork, piece, press } from "../prepress/artwork-samples.ts";
import { inFolder } from "../support/oracle.ts";
import { placed, sheetOf } from "../support/sheets.ts";
import { EQUAL, type Fared, type Source, sampleOf } from "./corpus.ts";

const SOURCES: readonly Source[] = [
  { package: "texlive-metapost-doc", folder: "/usr/share/doc/texlive-doc/metapost" },
  { package: "texlive-science-doc", folder: "/usr/share/doc/texlive-doc/latex" },
  { package: "texlive-base", folder: "/usr/share/doc/texlive-doc/fonts" },
  { package: "xfig-doc", folder: "/usr/share/doc/xfig" },
  { package: "asymptote-doc", folder: "/usr/share/doc/asymptote" },
];

/** A point a pixel: what is printed lies on the same raster as what was handed in. */
const PPI = 72;
/** Around the card on its sheet, points. */
const AROUND = 72;
const MOST_POINTS = 1500;

interface Plate {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8Array;
}

/** Plates by Ghostscript, in the same printing condition, so that only what we did to the colours can differ. */
const platesOf = async (pdf: Uint8Array, crop: boolean): Promise<ReadonlyMap<string, Plate>> => {
  const files = inFolder((at) => {
    writeFileSync(at("in.pdf"), pdf);
    const [rgb, cmyk] = [srgb(), outputProfile({ colour: "cmyk" })].map((profile) => profile?.path ?? "");
    const how = [
      "-q",
      "-dNOPAUSE",
      "-dBATCH",
      "-dSAFER",
      "-dFirstPage=1",
      "-dLastPage=1",
      "-dPrinted=true",
      `-r${PPI}`,
    ];
    const colour = [
      "-dRenderIntent=0",
      "-dBlackPtComp=1",
      `-sDefaultRGBProfile=${rgb}`,
      `-sDefaultCMYKProfile=${cmyk}`,
    ];
    const paths = [`--permit-file-read=${rgb}`, `--permit-file-read=${cmyk}`, `-sOutputICCProfile=${cmyk}`];
    execFileSync(
      "gs",
      [
        ...how,
        ...(crop ? ["-dUseCropBox"] : []),
        ...paths,
        ...colour,
        "-sDEVICE=tiffsep",
        "-sCompression=none",
        `-sOutputFile=${at("out.tif")}`,
        at("in.pdf"),
      ],
      { stdio: "pipe", timeout: 120_000 },
    );
    return readdirSync(at(".")).flatMap((name) => {
      const ink = /^out\((.+)\)\.tif$/.exec(name)?.[1];
      return ink === undefined ? [] : [[ink, readFileSync(at(name))] as const];
    });
  });
  const plates = new Map<string, Plate>();
  for (const [ink, bytes] of files) {
    const { data, info } = await sharp(bytes).toColourspace("b-w").raw().toBuffer({ resolveWithObject: true });
    plates.set(ink, { width: info.width, height: info.height, data });
  }
  return plates;
};

/** Levels that are the same ink. */
const SAME = 1;

/** Levels by which a value lies outside what another raster has in the nine pixels there: edges may lie half a pixel apart. */
const strays = (value: number, { width, height, data }: Plate, x: number, y: number): number => {
  let [least, most] = [255, 0];
  for (let j = Math.max(0, y - 1); j <= Math.min(height - 1, y + 1); j++)
    for (let i = Math.max(0, x - 1); i <= Math.min(width - 1, x + 1); i++) {
      const other = data[j * width + i] as number;
      if (other < least) least = other;
      if (other > most) most = other;
    }
  return Math.max(0, least - value, value - most);
};

interface Judged {
  readonly differs: number;
  /** Levels within which all but the share that counts as equal is the same. */
  readonly within: number;
}

const PROCESS = ["Cyan", "Magenta", "Yellow", "Black"];

/**
 * Share of the page's pixels whose inks are others, and the levels within which 99 % of them are the same. Black in RGB is black alone with us and four inks with Ghostscript: the rule
 * of the house, and no difference.
 */
const differing = (ours: ReadonlyMap<string, Plate>, theirs: ReadonlyMap<string, Plate>): Judged => {
  const first = theirs.get("Black");
  if (!first) throw new Error("Ghostscript made no plates");
  const { width, height } = first;
  const inks = [...new Set([...ours.keys(), ...theirs.keys()])];
  const levels = new Uint32Array(256);
  for (let y = 1; y < height - 1; y++)
    for (let x = 1; x < width - 1; x++) {
      const mine = (ink: string): number => {
        const plate = ours.get(ink);
        if (!plate) return 255;
        // From the lower left corner of the card on its sheet.
        const row = plate.height - AROUND - height + y;
        return plate.data[row * plate.width + AROUND + x] ?? 255;
      };
      let other = 0;
      for (const ink of inks) {
        const plate = theirs.get(ink);
        other = Math.max(other, plate ? strays(mine(ink), plate, x, y) : 255 - mine(ink));
      }
      const alone = mine("Black") < 8 && PROCESS.slice(0, 3).every((ink) => mine(ink) > 247);
      const rich = PROCESS.reduce((sum, ink) => sum + 255 - (theirs.get(ink)?.data[y * width + x] ?? 255), 0);
      const at = alone && rich > 510 ? 0 : other;
      levels[at] = (levels[at] as number) + 1;
    }
  const all = (width - 2) * (height - 2);
  const beyond = (level: number): number => levels.subarray(level + 1).reduce((sum, count) => sum + count, 0) / all;
  let within = 0;
  while (beyond(within) > EQUAL) within++;
  return { differs: beyond(SAME), within };
};

const LIMITS = { resolution: { refuse: 1, warn: 2 } };

/** How the first page of one file fares. */
export const fareOf = async (path: string): Promise<Fared> => {
  const bytes = Uint8Array.from(readFileSync(path));
  let [wide, high] = [0, 0];
  try {
    const page = (await PDFDocument.load(bytes, { updateMetadata: false })).getPage(0);
    const { width, height } = page.getCropBox();
    [wide, high] = page.getRotation().angle % 180 === 0 ? [width, height] : [height, width];
  } catch {
    return { file: path, refused: ["unreadable to the judge"], told: [] };
  }
  if (Math.max(wide, high) > MOST_POINTS) return { file: path, refused: ["larger than a sheet"], told: [] };
  const um = (points: number): number => Math.round((points * 25_400) / 72);
  const [width, height] = [um(wide), um(high)];
  const outer = [
    { x: 0, y: 0 },
    { x: width, y: 0 },
    { x: width, y: height },
    { x: 0, y: height },
  ];
  const card = piece(
    { ...artwork("pdf", bytes, { x: 0, y: 0, width, height }), page: 1, from: "crop" },
    { size: { width, height }, parts: [{ outer, openings: [] }], bleed: 0 },
  );
  const { value, findings } = await prepare(card, { ...press(), resolution: PPI, bleed: 0, inkLimit: 400 }, LIMITS);
  const rules = (error: boolean): string[] =>
    findings.filter(({ level }) => (level === "error") === error).map(({ rule }) => rule);
  const messages = findings.filter(({ level }) => level === "error").map(({ message }) => message);
  if (!value) return { file: `${path} (${messages.join("; ")})`, refused: rules(true), told: rules(false) };
  const around = um(AROUND);
  const sheet = sheetOf([placed(1, value, 0, [around / 1000, (around + height) / 1000], [])], {
    width: width + 2 * around,
    height: height + 2 * around,
    marks: [],
    inks: [],
  });
  const print = await writePrint(sheet, { title: "Corpus", profile: outputProfile({ colour: "cmyk" }) });
  const breaches = await checkPrint(print, { ...sheet, pages: 1, condition: true });
  if (breaches.length > 0)
    return { file: `${path} (${sayBreaches("it", breaches)})`, refused: [], told: rules(false), differs: 1 };
  try {
    const judged = differing(await platesOf(print, false), await platesOf(bytes, true));
    return { file: path, refused: [], told: rules(false), ...judged };
  } catch (error) {
    return { file: `${path} (the judge: ${(error as Error).message.split("\n")[0]})`, refused: [], told: rules(false) };
  }
};

/** The first pages of a sample of PDFs, one after the other. */
export const pages = async (most: number, seen: (fared: Fared, done: number) => void) => {
  const { files, missing } = sampleOf(SOURCES, /\.pdf$/i, most);
  const all: Fared[] = [];
  for (const one of files) {
    const fared = await fareOf(one);
    all.push(fared);
    seen(fared, all.length);
  }
  return { all, missing };
};
