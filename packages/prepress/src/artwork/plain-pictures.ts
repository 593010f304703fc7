// Pictures inside a drawing, made plain. Renderers of SVG show the samples of a picture as if they were sRGB and upright: a
// profile, the inks of a CMYK JPEG and the turn a camera noted are lost. Here each picture is brought to sRGB, upright.
import { toMm } from "@kitforme/geometry";
import type { DrawingParts, PlacedPicture, Press } from "@kitforme/kit";
import type { Metadata } from "sharp";
import { damageOf } from "./damage/damage-of.ts";
import { RESOLUTION } from "./check-resolution.ts";
import { tell } from "../words/drawing-words.ts";
import { openImage } from "./limits.ts";
import type { Report } from "./report.ts";
import { strangeColours } from "./tiff-colours.ts";

const DATA = /data:image\/(?!svg)[\w.+-]+;base64,([A-Za-z\d+/=]+)/g;
/** Drawings in the drawing that are embedded as pictures, because an effect is measured by them. */
const DRAWING = /data:image\/svg\+xml;base64,([A-Za-z\d+/=]+)/g;
/** Pictures smaller than this are ornaments: nobody sees their pixels. Micrometres. */
const SMALL = 5000;
/** A picture of one or two pixels a side is a flat colour or the steps of a gradient. */
const FLAT = 2;

const isPlain = ({ format, space, depth, icc, orientation = 1 }: Metadata): boolean =>
  (format === "png" || format === "jpeg") &&
  (space === "srgb" || space === "b-w") &&
  depth === "uchar" &&
  icc === undefined &&
  orientation === 1;

/** The SVG with plain pictures; undefined when one of them cannot be read, which is reported. Too coarse ones are reported too. */
export async function plainPictures(
  written: string,
  { pictures = [] }: DrawingParts,
  press: Press,
  report: Report,
): Promise<string | undefined> {
  const svg = await plainInside(written, press, report);
  if (svg === undefined) return undefined;
  const found = [...svg.matchAll(DATA)];
  if (found.length === 0) return svg;
  const kept: string[] = [];
  const made = new Map<string, string>();
  const sizes: (readonly [number, number])[] = [];
  let end = 0;
  let turned = 0;
  const sized = new Map<string, readonly [number, number]>();
  for (const [nth, { index, 0: whole, 1: data = "" }] of found.entries()) {
    let plain = made.get(data);
    if (plain === undefined) {
      const bytes = Buffer.from(data, "base64");
      const strange = strangeColours(bytes);
      if (strange) {
        const picture = pictures.find((one) => one.nth === nth);
        tell(
          report,
          "picture-colours",
          { picture: picture?.name ?? "A picture in the drawing", ...strange },
          picture?.at,
        );
        return undefined;
      }
      let what: string | undefined;
      try {
        const metadata = await openImage(bytes).metadata();
        what = damageOf(metadata.format, bytes)?.what;
        if (what !== undefined) throw new Error(what);
        const { width, height, orientation = 1 } = metadata;
        sized.set(data, orientation >= 5 ? [height, width] : [width, height]);
        if (orientation !== 1) turned++;
        // Decoded to the end in any case: a picture that is cut off would be drawn down to where it ends, without a word.
        const image = openImage(bytes).autoOrient();
        if (isPlain(metadata)) {
          await image.stats();
          plain = whole;
        } else {
          const png = await image.toColourspace("srgb").png({ compressionLevel: 1, palette: false }).toBuffer();
          plain = `data:image/png;base64,${png.toString("base64")}`;
        }
      } catch {
        const picture = pictures.find((one) => one.nth === nth);
        tell(report, "picture-damaged", { picture: picture?.name ?? "A picture in the drawing", what }, picture?.at);
        return undefined;
      }
      made.set(data, plain);
    }
    sizes.push(sized.get(data) as readonly [number, number]);
    kept.push(svg.slice(end, index), plain);
    end = index + whole.length;
  }
  kept.push(svg.slice(end));
  if (turned > 0) tell(report, "picture-turned", { pictures: turned });
  tellCoarse(pictures, sizes, press, report);
  return kept.join("");
}

/** The SVG with plain pictures in the drawings that it embeds; undefined when one of them cannot be read. */
const plainInside = async (svg: string, press: Press, report: Report): Promise<string | undefined> => {
  let plain = svg;
  for (const [whole, data = ""] of new Map([...svg.matchAll(DRAWING)].map((one) => [one[0], one])).values()) {
    const inner = Buffer.from(data, "base64").toString("utf8");
    const made = await plainPictures(inner, {}, press, report);
    if (made === undefined) return undefined;
    if (made !== inner)
      plain = plain.replaceAll(whole, `data:image/svg+xml;base64,${Buffer.from(made).toString("base64")}`);
  }
  return plain;
};

/** @param sizes pixels of each picture that the SVG embeds, as shown */
const tellCoarse = (
  pictures: readonly PlacedPicture[],
  sizes: readonly (readonly [number, number])[],
  press: Press,
  report: Report,
): void => {
  const wanted = Math.min(RESOLUTION.warn, press.resolution);
  for (const { name, nth, at, size } of pictures) {
    const pixels = sizes[nth];
    if (!pixels) continue;
    if (Math.min(...size) < SMALL || Math.min(...pixels) <= FLAT) continue;
    // Fitted whole into its place, the picture's finer axis is the one that fills it.
    const ppi = Math.max((pixels[0] * 25_400) / size[0], (pixels[1] * 25_400) / size[1]);
    if (ppi >= wanted - 0.5) continue;
    const [width, height] = size.map((um) => toMm(Math.round(um / 100) * 100)) as [number, number];
    tell(report, "picture-coarse", { picture: name, pixels, size: [width, height], ppi: Math.round(ppi), wanted }, at);
  }
};
