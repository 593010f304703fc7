// A customer's page as vectors, made fit for the sheet. The rule, by which a page is kept or rasterised:
//
//   kept     nothing encrypted, every font that letters are set in embedded, none of what PDF/X-4 forbids (LZW, transfer
//            functions, OPI, reference and PostScript objects, pictures in other files); hidden layers are taken out, form
//            fields and comments put in; a stream that cannot be read whole is an error
//   colours  on a CMYK press: CMYK, grey and spot colours stay as they are; grey and CMYK of a profile keep their values as inks.
//            Solids, palettes, pictures and gradients in RGB (device, of a profile, calibrated) and Lab become CMYK by the
//            press's profile and within its ink limit, pure black becomes black ink; meshes in them, pictures written out in
//            the content or of other depths than 8 bits, and profiles that cannot be read are reasons to raster
//            with `spots: convert` spot inks become CMYK too, by what stands for them in the file; where that cannot be done
//            exactly it is a reason to raster
//            on an RGB press: device RGB and grey stay; CMYK is a reason to raster
//            on a grey press: grey only
//   mixing   constant alpha and picture masks stay, and mix in the press's space; blend modes and soft masks stay unless
//            they mix RGB on a CMYK press, where the result would be another
//
// What is rasterised goes through the same drawing as the bleed and the proof, at the press's resolution.
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
} from "../../pdf-lib.ts";
import { type PressColour, srgb } from "../../colour/profile.ts";
import type { Page } from "../../prepared.ts";
import { identifyPage } from "../identify.ts";
import { Broken } from "../damage/damage.ts";
import { type Annotations, annotationsOf } from "./annotations.ts";
import type { Corners } from "./boxes.ts";
import { checkStreams } from "./check-streams.ts";
import { operationsOf, rewritten } from "./content.ts";
import { convertSpots, type Inks } from "./convert-spots.ts";
import { inkPictures } from "./ink-pictures.ts";
import { packed, repacked } from "./pack.ts";
import { inkShadings } from "./ink-shadings.ts";
import { inkSpaces, solidsOfLight } from "./ink-spaces.ts";
import { type Inspected, inspectPage, spotsOf } from "./inspect.ts";
import { meaningsOn } from "./meaning.ts";
import { inksOf, solidsIn, withInks } from "./solids.ts";
import { unpack } from "./unpack.ts";
import type { Anatomy } from "./anatomy.ts";
import { Walk } from "./walk.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** A page taken out of its document. */
export interface Kept {
  /** The page as a document of its own: the box that is shown, no hidden layers, annotations in its content, press colours. */
  readonly page: Page;
  /** The same in the colours it came with; absent where `page` is that. */
  readonly plain?: Page;
  /** Why it must be rasterised all the same; empty: it stays vectors. */
  readonly reasons: readonly string[];
  readonly anatomy: Anatomy;
  /** What a prepress desk sees on it, in the colours it came with. */
  readonly inspected: Inspected;
  readonly annotations: Annotations;
  /** Spot inks that became process inks, and which at full strength: those of spaces of one ink. Left out: none did. */
  readonly converted?: ReadonlyMap<string, Inks>;
}

/**
 * Takes a page out of its document, and says whether it can stay vectors. Layers that `hiddenLayers` marked are taken out.
 *
 * @throws Broken when it, or anything it draws, is damaged
 */
export async function keepPage(
  document: PDFDocument,
  index: number,
  shown: Corners,
  press: PressColour,
): Promise<Kept> {
  const { node } = document.getPage(index);
  const context = PDFContext.create();
  const copier = PDFObjectCopier.for(document.context, context);
  const own = node.Resources() ?? document.context.obj({});
  const annotations = annotationsOf(node, own);
  const content = withAnnotations(contentOf(node), annotations.content);
  const walk = new Walk(context);
  const copied = context.obj({});
  const resources = copier.copy(own);
  const group = node.lookupMaybe(name("Group"), PDFDict);
  if (group) copied.set(name("Group"), copier.copy(group));
  checkStreams(context);
  walk.group(copied);
  walk.page(resources, content);
  const [fault] = walk.faults;
  if (fault !== undefined) throw new Broken(fault);
  const inspected = inspectPage(walk);
  const reasons = [...walk.obstacles, ...colourReasons(walk, press)];
  for (const font of walk.fontsMissing) reasons.push(`font ${font} is not embedded`);
  const meanings = meaningsOn(press);
  const planned =
    press.colour === "cmyk"
      ? {
          pictures: await inkPictures(walk, meanings, press),
          shadings: await inkShadings(walk, meanings, press),
          spaces: await inkSpaces(walk, meanings, press),
        }
      : undefined;
  for (const { reasons: own } of Object.values(planned ?? {})) reasons.push(...own);
  // Drawn as pixels, spots are process inks anyway.
  const converting = press.spots === "convert" && spotsOf(walk).length > 0 && reasons.length === 0;
  const converted = converting && press.colour === "cmyk" ? await convertSpots(walk, press) : undefined;
  if (converting && !converted)
    reasons.push(
      `spot inks to be converted${press.colour === "cmyk" ? ", in forms that vectors cannot carry over" : ""}`,
    );
  const scopes = converted?.scopes ?? walk.scopes;

  copied.set(name("Type"), name("Page"));
  copied.set(name("Resources"), resources);
  copied.set(name("MediaBox"), context.obj([...shown]));
  const rotate = node.Rotate()?.asNumber() ?? 0;
  if (rotate !== 0) copied.set(name("Rotate"), context.obj(rotate));
  const contents = context.nextRef();
  copied.set(name("Contents"), contents);
  const tree = context.register(context.obj({ Type: "Pages", Kids: [context.register(copied)], Count: 1 }));
  copied.set(name("Parent"), tree);
  context.trailerInfo.Root = context.register(context.obj({ Type: "Catalog", Pages: tree }));
  const written = async (program: Uint8Array): Promise<Page> => {
    context.assign(contents, await packed(context, program, {}));
    const bytes = await PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
    return identifyPage({ bytes, index: 0 });
  };

  let program = content;
  for (const { content: bytes, changed, ref } of scopes) {
    if (!ref) program = bytes;
    else if (changed) context.assign(ref, await repacked(context, ref, bytes));
  }
  // Drawn by way of RGB, RGB colours stay what they are.
  const plain = reasons.length > 0 ? await written(program) : undefined;
  // As pixels, solids of such spaces are drawn in them.
  const light = planned && planned.spaces.reasons.length === 0 ? planned.spaces : undefined;
  const named = light ? await Promise.all(scopes.map((scope) => solidsOfLight(scope, meanings, press))) : [];
  planned?.pictures.apply();
  planned?.shadings.apply();
  light?.apply();
  const inks = press.colour === "cmyk" ? await inksOf(scopes.flatMap(solidsIn), press) : new Map();
  const profile =
    press.colour === "cmyk" && walk.devices.has("rgb")
      ? context.register(await packed(context, srgb().bytes, { N: context.obj(3) }))
      : undefined;
  for (const [i, { resources: scope, content: bytes, operations, ref }] of scopes.entries()) {
    if (profile) defaultRgb(context, scope, context.obj([name("ICCBased"), profile]));
    const anew = new Map([...withInks(operations, inks), ...(named[i] ?? [])]);
    const inked = anew.size > 0 ? rewritten(bytes, operations, (operation) => anew.get(operation)) : bytes;
    if (!ref) program = inked;
    else if (inked !== bytes) context.assign(ref, await repacked(context, ref, inked));
  }
  mixIn(context, copied, walk, press);
  return {
    page: await written(program),
    ...(plain ? { plain } : {}),
    reasons,
    anatomy: walk,
    inspected,
    annotations,
    ...(converted ? { converted: converted.as } : {}),
  };
}

/** The page's content in a shell, what it left open closed, and what lies over it. */
const withAnnotations = (content: Uint8Array, over: string): Uint8Array => {
  if (over === "") return content;
  const operations = operationsOf(content) ?? [];
  const open = operations.reduce(
    (depth, { operator }) => depth + (operator === "q" ? 1 : operator === "Q" ? -1 : 0),
    0,
  );
  return Buffer.concat([Buffer.from("q\n"), content, Buffer.from(`\n${"Q ".repeat(Math.max(0, open))}Q\n${over}\n`)]);
};

const colourReasons = ({ devices, profiled, blends, groups }: Anatomy, { colour }: Pick<Press, "colour">): string[] => {
  const reasons: string[] = [];
  if (colour !== "cmyk" && devices.has("cmyk")) reasons.push(`CMYK colours on a press that prints ${colour}`);
  if (colour === "grey" && profiled.has("cmyk")) reasons.push("CMYK of a profile on a grey press");
  if (colour === "grey" && (devices.has("rgb") || profiled.has("rgb"))) reasons.push("RGB colours on a grey press");
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
const contentOf = (node: PDFPageLeaf): Uint8Array => {
  const contents = node.Contents();
  const streams = contents instanceof PDFArray ? contents.asArray().map((s) => node.context.lookup(s)) : [contents];
  const parts = streams.flatMap((stream) => {
    if (stream instanceof PDFRawStream) return [unpack(stream), Buffer.from("\n")];
    if (stream instanceof PDFContentStream) return [stream.getUnencodedContents(), Buffer.from("\n")];
    if (stream === undefined && contents === undefined) return [];
    throw new Broken("a stream of its content is missing");
  });
  return Buffer.concat(parts);
};
