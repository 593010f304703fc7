// A customer's page as vectors, made fit for the sheet. The rule, by which a page is kept or rastered:
//
//   kept     no hidden layers, nothing encrypted, every stream readable, every font embedded, none of what PDF/X-4 forbids
//            (LZW, transfer functions, OPI, reference and PostScript objects, pictures in other files)
//   colours  on a CMYK press: CMYK, grey, spot, Lab and profiled colours stay as they are. Solid device RGB becomes CMYK by
//            the press's profile, pure black becomes black ink; pictures and shadings in device RGB get sRGB as their space
//            on an RGB press: device RGB and grey stay; CMYK is a reason to raster
//            on a grey press: grey only
//   mixing   constant alpha and picture masks stay, and mix in the press's space; blend modes and soft masks stay unless
//            they mix RGB on a CMYK press, where the result would be another
//
// What is rastered goes through the same drawing as the bleed and the proof, at the press's resolution.
import type { Press } from "@kitforme/kit";
import {
  PDFArray,
  PDFContentStream,
  PDFContext,
  PDFDict,
  type PDFDocument,
  PDFName,
  type PDFObject,
  PDFObjectCopier,
  type PDFPageLeaf,
  PDFRawStream,
  PDFWriter,
} from "pdf-lib";
import { srgb } from "../../colour/profile.ts";
import type { Page } from "../../prepared.ts";
import { identifyPage } from "../identify.ts";
import { rewritten } from "./content.ts";
import { packed, repacked } from "./pack.ts";
import { inksOf, solidsIn, withInks } from "./solids.ts";
import { unpack } from "./unpack.ts";
import type { Anatomy } from "./anatomy.ts";
import { Walk } from "./walk.ts";

const name = (key: string): PDFName => PDFName.of(key);
export interface Kept {
  /** The page as a document of its own: upright box, press colours; absent where it cannot be taken apart. */
  readonly page?: Page;
  /** Why it must be rastered all the same; empty: it stays vectors. */
  readonly reasons: readonly string[];
  readonly anatomy?: Anatomy;
}

/** Takes a page out of its document, and says whether it can stay vectors. */
export async function keepPage(document: PDFDocument, index: number, press: Pick<Press, "colour">): Promise<Kept> {
  const { node } = document.getPage(index);
  const context = PDFContext.create();
  const copier = PDFObjectCopier.for(document.context, context);
  const content = contentOf(node);
  if (!content) return { reasons: ["its content cannot be unpacked"] };
  const walk = new Walk(context);
  const copied = context.obj({});
  const own = node.Resources();
  const resources = own ? copier.copy(own) : context.obj({});
  const group = node.lookupMaybe(name("Group"), PDFDict);
  if (group) copied.set(name("Group"), copier.copy(group));
  walk.group(copied);
  walk.scope(resources, content);
  const reasons = [...walk.obstacles, ...colourReasons(walk, press)];
  if (reasons.length > 0) return { reasons, anatomy: walk };
  for (const font of walk.fontsMissing) reasons.push(`font ${font} is not embedded`);

  const inks = press.colour === "cmyk" ? await inksOf(walk.scopes.flatMap(solidsIn), press) : new Map();
  const profile =
    press.colour === "cmyk" && walk.devices.has("rgb")
      ? context.register(await packed(context, srgb().bytes, { N: context.obj(3) }))
      : undefined;
  let program = content;
  for (const { resources: scope, content: bytes, operations, ref } of walk.scopes) {
    if (profile) defaultRgb(context, scope, context.obj([name("ICCBased"), profile]));
    const anew = withInks(operations, inks);
    const changed = anew.size > 0 ? rewritten(bytes, operations, (operation) => anew.get(operation)) : bytes;
    if (!ref) program = changed;
    else if (changed !== bytes) context.assign(ref, await repacked(context, ref, changed));
  }
  mixIn(context, copied, walk, press);

  copied.set(name("Type"), name("Page"));
  copied.set(name("Resources"), resources);
  copied.set(name("MediaBox"), context.obj(rectangle(node)));
  const rotate = node.Rotate()?.asNumber() ?? 0;
  if (rotate !== 0) copied.set(name("Rotate"), context.obj(rotate));
  copied.set(name("Contents"), context.register(await packed(context, program, {})));
  const pageRef = context.register(copied);
  const tree = context.register(context.obj({ Type: "Pages", Kids: [pageRef], Count: 1 }));
  copied.set(name("Parent"), tree);
  context.trailerInfo.Root = context.register(context.obj({ Type: "Catalog", Pages: tree }));
  const bytes = await PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
  return { page: identifyPage({ bytes, index: 0 }), reasons, anatomy: walk };
}

const colourReasons = ({ devices, blends, groups }: Anatomy, { colour }: Pick<Press, "colour">): string[] => {
  const reasons: string[] = [];
  if (colour !== "cmyk" && devices.has("cmyk")) reasons.push(`CMYK colours on a press that prints ${colour}`);
  if (colour === "grey" && devices.has("rgb")) reasons.push("RGB colours on a grey press");
  if (colour === "cmyk" && blends && (devices.has("rgb") || groups.some(({ rgb }) => rgb)))
    reasons.push("transparency that mixes RGB colours");
  return reasons;
};

/** Transparency mixes in the press's own space, and apart from what lies under the page. */
const mixIn = (context: PDFContext, page: PDFDict, walk: Walk, { colour }: Pick<Press, "colour">): void => {
  const space = name(colour === "cmyk" ? "DeviceCMYK" : colour === "rgb" ? "DeviceRGB" : "DeviceGray");
  for (const { dict, rgb } of walk.groups) if (colour === "cmyk" && rgb) dict.set(name("CS"), space);
  // Drawing programs declare a group whether they mix or not: without need it goes, for printers that flatten.
  if (!walk.transparent) page.delete(name("Group"));
  else if (!page.has(name("Group")))
    page.set(name("Group"), context.obj({ Type: "Group", S: "Transparency", I: true, CS: space }));
};

/** Whatever device RGB is left in a scope's pictures and shadings means sRGB (ISO 32000, 8.6.5.6). */
const defaultRgb = (context: PDFContext, resources: PDFDict, space: PDFObject): void => {
  const spaces = resources.lookupMaybe(name("ColorSpace"), PDFDict) ?? context.obj({});
  if (!spaces.has(name("DefaultRGB"))) spaces.set(name("DefaultRGB"), space);
  resources.set(name("ColorSpace"), spaces);
};

/** Several content streams are one program: white space between them, since a token may not span two. */
const contentOf = (node: PDFPageLeaf): Uint8Array | undefined => {
  const contents = node.Contents();
  const streams = contents instanceof PDFArray ? contents.asArray().map((s) => node.context.lookup(s)) : [contents];
  try {
    const parts = streams.flatMap((stream) =>
      stream instanceof PDFRawStream
        ? [unpack(stream), Buffer.from("\n")]
        : stream instanceof PDFContentStream
          ? [stream.getUnencodedContents(), Buffer.from("\n")]
          : [],
    );
    return Buffer.concat(parts);
  } catch {
    return undefined;
  }
};

/** CropBox within MediaBox: what a viewer shows. Either may name any two opposite corners. */
const rectangle = (node: PDFPageLeaf): number[] => {
  const corners = (array: PDFArray): readonly [number, number, number, number] => {
    const { x, y, width, height } = array.asRectangle();
    return [Math.min(x, x + width), Math.min(y, y + height), Math.max(x, x + width), Math.max(y, y + height)];
  };
  const media = corners(node.MediaBox());
  const crop = corners(node.CropBox() ?? node.MediaBox());
  return [
    Math.max(media[0], crop[0]),
    Math.max(media[1], crop[1]),
    Math.min(media[2], crop[2]),
    Math.min(media[3], crop[3]),
  ];
};
