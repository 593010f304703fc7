// Real pictures as the artwork of a card: the inks they print in against those that LittleCMS's own program makes of them.
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { outputProfile, prepare, srgb } from "@kitforme/prepress";
import sharp, { type Metadata } from "sharp";
import { file as artwork, piece, press } from "../prepress/artwork-samples.ts";
import { inFolder } from "../support/oracle.ts";
import { type Fared, type Source, sampleOf } from "./corpus.ts";

const SOURCES: readonly Source[] = [
  { package: "mate-backgrounds", folder: "/usr/share/backgrounds/mate" },
  { package: "ukui-wallpapers", folder: "/usr/share/backgrounds" },
  { package: "lxqt-themes", folder: "/usr/share/lxqt" },
  { package: "imagemagick-6-doc", folder: "/usr/share/doc/imagemagick-6-common/html" },
  { package: "python3-skimage", folder: "/usr/lib/python3/dist-packages/skimage/data" },
  { package: "python3-matplotlib", folder: "/usr/share/matplotlib" },
];

/** Pixels a millimetre on the card. */
const PER_MM = 10;
/** Levels that are the same ink. */
const SAME = 1;

/** The picture's values through LittleCMS's own program, as inks. */
const judged = async (bytes: Uint8Array, profile: Uint8Array | undefined): Promise<Uint8Array> => {
  const tiff = await sharp(bytes, { ignoreIcc: true })
    .autoOrient()
    .removeAlpha()
    .toColourspace("srgb")
    .tiff({ compression: "none" })
    .toBuffer();
  const made = inFolder((at) => {
    writeFileSync(at("in.tif"), tiff);
    writeFileSync(at("in.icc"), profile ?? srgb().bytes);
    const profiles = [`-i${at("in.icc")}`, `-o${outputProfile({ colour: "cmyk" })?.path}`];
    execFileSync("tificc", ["-b", "-t0", ...profiles, at("in.tif"), at("out.tif")], { stdio: "pipe" });
    return readFileSync(at("out.tif"));
  });
  return sharp(made).pipelineColourspace("cmyk").toColourspace("cmyk").raw().toBuffer();
};

/** How one picture fares. Those with alpha are taken in and not compared: what shows through is settled on paper first. */
export const fareOf = async (path: string): Promise<Fared> => {
  const bytes = Uint8Array.from(readFileSync(path));
  let facts: Metadata;
  try {
    facts = await sharp(bytes).metadata();
  } catch {
    return { file: path, refused: ["unreadable to the judge"], told: [] };
  }
  const format = facts.format as string;
  if (format !== "png" && format !== "jpeg" && format !== "tiff")
    return { file: path, refused: [`a ${format} by another name`], told: [] };
  const turned = (facts.orientation ?? 1) >= 5;
  const [wide, high] = turned ? [facts.height, facts.width] : [facts.width, facts.height];
  const [width, height] = [(wide * 1000) / PER_MM, (high * 1000) / PER_MM];
  const outer = [
    { x: 0, y: 0 },
    { x: width, y: 0 },
    { x: width, y: height },
    { x: 0, y: height },
  ];
  const card = piece(artwork(format, bytes, { x: 0, y: 0, width, height }), {
    size: { width, height },
    parts: [{ outer, openings: [] }],
    bleed: 0,
  });
  const { value, findings } = await prepare(card, { ...press(), bleed: 0, inkLimit: 400 });
  const rules = (error: boolean): string[] =>
    findings.filter(({ level }) => (level === "error") === error).map(({ rule }) => rule);
  const why = findings.filter(({ level }) => level === "error").map(({ message }) => message);
  if (!value) return { file: `${path} (${why.join("; ")})`, refused: rules(true), told: rules(false) };
  const layer = value.layers.at(-1);
  if (layer?.kind !== "raster" || facts.hasAlpha) return { file: path, refused: [], told: rules(false) };
  const { raster } = layer;
  if (raster.space !== "cmyk" || raster.data.kind !== "raw" || raster.width !== wide || raster.height !== high)
    return { file: path, refused: [], told: rules(false) };
  const wanted = await judged(bytes, facts.icc);
  let found = 0;
  for (let at = 0; at < wanted.length; at += 4)
    if (
      [0, 1, 2, 3].some(
        (ink) => Math.abs((raster.data.bytes[at + ink] as number) - (wanted[at + ink] as number)) > SAME,
      )
    )
      found++;
  return { file: path, refused: [], told: rules(false), differs: found / (wide * high) };
};

/** A sample of pictures, one after the other. */
export const pictures = async (most: number, seen: (fared: Fared, done: number) => void) => {
  const { files, missing } = sampleOf(SOURCES, /\.(?:png|jpe?g|tiff?)$/i, most);
  const all: Fared[] = [];
  for (const one of files) {
    const fared = await fareOf(one);
    all.push(fared);
    seen(fared, all.length);
  }
  return { all, missing };
};
